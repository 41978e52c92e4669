"""What came in by month: payments less what went back, what they took in fees beside it. A reversal counts on its own day."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Q, Sum
from django.db.models.functions import Coalesce, TruncMonth

from studio.models import Payment

__all__ = ["MonthMoney", "money_by_month"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthMoney:
    """A month's money, in minor units."""

    first_day: date
    paid_minor: int
    refunded_minor: int
    fee_minor: int

    @property
    def kept_minor(self) -> int:
        """What came less what went back."""
        return self.paid_minor - self.refunded_minor


def money_by_month(*, currency: str) -> list[MonthMoney]:
    """Return the months with a payment in a currency, the last first: one query."""
    is_back = Q(what=Payment.What.REFUND)
    rows = (
        Payment.objects.filter(job__revision__currency=currency)
        .annotate(month=TruncMonth("day"))
        .order_by("-month")
        .values("month")
        .annotate(
            paid=Coalesce(Sum("amount_minor", filter=~is_back), 0),
            back=Coalesce(Sum("amount_minor", filter=is_back), 0),
            fee=Sum("fee_minor"),
        )
    )
    return [
        MonthMoney(first_day=row["month"], paid_minor=row["paid"], refunded_minor=-row["back"], fee_minor=row["fee"])
        for row in rows
    ]
