"""What payments of a year took outside the accounts of pieces: money paid back on an invoice, fees that came late."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from django.db.models import F

from inventory.ground.money import Currency, nearest
from studio.models import Job, Payment
from studio.profit.refunds import Paid, losses_by_refunds
from studio.profit.year import About, Row

__all__ = ["late_fees", "refunds"]


class _Payment(NamedTuple):
    number: int
    what: str
    amount_minor: int
    day: date
    job: int
    reference: str
    title: str
    delivered_on: date
    net_minor: int
    tax_minor: int


_COLUMNS = (
    *("number", "what", "amount_minor", "day", "job", "job__reference", "job__title"),
    *("job__delivered_on", "job__net_minor", "job__tax_minor"),
)


def refunds(first: date, last: date, money: Currency) -> Iterator[Row]:
    """What went back to clients of delivered pieces beyond what they had paid too much, without tax."""
    went_back = Payment.objects.filter(what=Payment.What.REFUND, day__lte=last, day__gte=F("job__delivered_on"))
    delivered = Payment.objects.filter(
        job__in=went_back.values("job"), job__stage=Job.Stage.DELIVERED, job__revision__currency=money.code
    )
    by_job: dict[int, list[_Payment]] = defaultdict(list)
    for columns in delivered.order_by("job", "day", "pk").values_list(*_COLUMNS):
        payment = _Payment(*columns)
        by_job[payment.job].append(payment)
    for payments in by_job.values():
        net, total = payments[0].net_minor, payments[0].net_minor + payments[0].tax_minor
        losses = losses_by_refunds(total, [_paid(payment) for payment in payments])
        for payment, loss in zip(payments, losses, strict=True):
            if loss and first <= payment.day <= last:
                # A price that is lowered lowers its tax with it. Where nothing was invoiced, no tax was either.
                without_tax = nearest(loss * net, total) if total > 0 else loss
                yield Row(
                    about=About.REFUND,
                    amount=money.from_minor(-without_tax),
                    what=f"{payment.reference}, {payment.title}",
                    key=f"{payment.number}",
                    day=payment.day,
                )


def _paid(payment: _Payment) -> Paid:
    is_refund = payment.what == Payment.What.REFUND and payment.day >= payment.delivered_on
    return Paid(amount_minor=payment.amount_minor, is_refund=is_refund)


def late_fees(first: date, last: date, money: Currency) -> Iterator[Row]:
    """Fees of payments that came after their piece's month was closed."""
    late = Payment.objects.filter(
        job__account__frozen_at__lt=F("noted_at"), fee_minor__gt=0, day__range=(first, last)
    ).order_by("pk")
    for number, fee, day, reference, title in late.values_list(
        "number", "fee_minor", "day", "job__reference", "job__title"
    ):
        amount = money.from_minor(-fee)
        yield Row(about=About.FEE, amount=amount, what=f"{reference}, {title}", key=f"{number}", day=day)
