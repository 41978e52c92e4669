"""What the pure rooms reckon the books from: finished pieces as rows, quotes that were decided, a period's overhead."""

from calendar import isleap
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from django.db.models import (
    BigIntegerField,
    Exists,
    ExpressionWrapper,
    F,
    Max,
    Min,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
)
from django.db.models.functions import Coalesce, NullIf, TruncDate
from django.utils import timezone

from inventory.ground.days import EARLIEST, LATEST
from inventory.ground.money import Currency
from inventory.shelf.settings import studio_currency
from quotes.models import QuoteRevision, YearlyCost
from quotes.workroom.settings import workroom
from studio.models import Credit, PieceAccount
from studio.profit.kept_account import KEPT_ACCOUNT
from studio.profit.overhead import Absorption, absorption
from studio.profit.piece import Account, Bearer, CauseCost
from studio.profit.profit_json import Books
from studio.profit.totals import Outcome, Piece

__all__ = [
    "KEYS",
    "accounts",
    "books_between",
    "books_of",
    "incurred",
    "outcomes",
    "overhead",
    "pieces_of",
    "with_margin",
]

KEYS = {"style": ("style",), "construction": ("construction",), "client": ("client", "client_id"), "month": ("month",)}
"""What pieces can be put together by, as `totals_by` takes it: two clients of one name stay two."""

_STORED = (
    *("delivered_on", "style", "construction", "net_minor", "quoted_profit_minor", "actual_profit_minor"),
    *("labour_minor", "overhead_minor", "minutes", "is_under_floor", "is_unsure"),
)
_JOINED = {
    "reference": F("job__reference"),
    "title": F("job__title"),
    "client": F("job__client__name"),
    "client_id": F("job__client_id"),
}


def accounts() -> QuerySet[PieceAccount]:
    """Return the accounts of all finished pieces with job and client, without their documents."""
    # What stands behind the document in a row is as dear to read as the document.
    return PieceAccount.objects.select_related("job__client").defer("document", "frozen_at")


def with_margin(pieces: QuerySet[PieceAccount]) -> QuerySet[PieceAccount]:
    """Return pieces with `margin_millionths` to sort by: profit as a share of net, empty where nothing was invoiced.

    And with `tax_minor`: what was invoiced less the tax of those lower prices that the account knows of.
    """
    margin = ExpressionWrapper(
        F("actual_profit_minor") * 1_000_000 / NullIf(F("net_minor"), 0), output_field=BigIntegerField()
    )
    known = Credit.objects.filter(job=OuterRef("job")).filter(
        Q(noted_at__lte=OuterRef("frozen_at")) | Q(job__account__frozen_at=None)
    )
    credited = known.order_by().values("job").annotate(total=Sum("tax_minor")).values("total")
    tax = F("job__tax_minor") - Coalesce(Subquery(credited), 0, output_field=BigIntegerField())
    return pieces.annotate(margin_millionths=margin, tax_minor=tax)


def pieces_of(accounts: QuerySet[PieceAccount]) -> list[Piece]:
    """Return accounts as rows, without their documents, in no order: one query."""
    return [Piece(**row) for row in accounts.order_by().values(*_STORED, **_JOINED)]


def overhead(first: date, last: date) -> Absorption | None:
    """Return how overhead came out from a day to a day; None where no yearly costs are entered.

    The yearly costs as they stand today count for so many days of each year, whatever they were then.
    """
    yearly = YearlyCost.objects.aggregate(total=Sum("amount_minor"))["total"]
    if not yearly:
        return None
    money = studio_currency()
    delivered = PieceAccount.objects.filter(delivered_on__range=(first, last))
    absorbed = delivered.aggregate(total=Sum("overhead_minor"))["total"] or 0
    losses = delivered.filter(document__account__cause_costs__0__isnull=False)
    return absorption(
        incurred=incurred(yearly, first, last, money),
        absorbed=money.from_minor(absorbed),
        cause_costs=[
            _cause_cost(cost)
            for costs in losses.values_list("document__account__cause_costs", flat=True)
            for cost in costs
        ],
    )


def incurred(yearly_minor: int, first: date, last: date, money: Currency) -> Decimal:
    """Return what a stretch of days cost where a year costs so many minor units, rounded."""
    return money.round(money.from_minor(yearly_minor) * _years(first, last))


def outcomes(first: date, last: date, *, on: date) -> list[Outcome]:
    """Return the quotes that were decided from a day to a day, at the price that the client saw.

    A quote counts once: it was won where any of its revisions was accepted, else its last answer counts, unless a newer
    revision is out. What was declined counts at its first option's price, and so does what nobody answered until it
    expired.
    """
    State = QuoteRevision.State
    first, last = max(first, EARLIEST), min(last, LATEST)
    begin, end = (timezone.make_aware(datetime.combine(day, time())) for day in (first, last + timedelta(days=1)))
    decided = Q(state__in=(State.ACCEPTED, State.DECLINED), decided_at__gte=begin, decided_at__lt=end)
    expired = Q(state=State.SENT, valid_until__lt=on, valid_until__range=(first, last))
    of_the_quote = QuoteRevision.objects.filter(quote=OuterRef("quote"))
    won = of_the_quote.filter(state=State.ACCEPTED)
    asked_again = of_the_quote.filter(number__gt=OuterRef("number"), state__in=(State.SENT, State.DECLINED))
    counts = Q(state=State.ACCEPTED) | ~Exists(won) & ~Exists(asked_again)
    revisions = QuoteRevision.objects.filter(decided | expired, counts, currency=studio_currency().code)
    # One that is still out has no moment of a decision: its day is the last on which it held.
    columns = revisions.order_by("pk").values_list(
        "state", "price_minor", Coalesce(TruncDate("decided_at"), "valid_until")
    )
    return [Outcome(price_minor=price, is_won=state == State.ACCEPTED, day=day) for state, price, day in columns]


def books_between(first: date | None, last: date | None, *, on: date) -> Books:
    """Return the books of what was delivered from a day to a day: without one, from the first or until now."""
    known = PieceAccount.objects.aggregate(first=Min("delivered_on"), last=Max("delivered_on"))
    begin = max(first or known["first"] or on, EARLIEST)
    end = min(last or max(on, known["last"] or on), LATEST)
    return books_of(
        PieceAccount.objects.filter(delivered_on__range=(begin, end)),
        decided=outcomes(begin, end, on=on),
        overheads=overhead(begin, min(end, on)),
    )


def books_of(
    pieces: QuerySet[PieceAccount], *, decided: Sequence[Outcome] = (), overheads: Absorption | None = None
) -> Books:
    """Return the books of pieces with their whole accounts, in the order of their delivery."""
    floor = workroom().rates.get("minimum_per_hour")
    return Books(
        currency=studio_currency(),
        accounts=dict(_with_accounts(pieces)),
        minimum_per_hour=None if floor is None else Decimal(floor),
        outcomes=decided,
        overhead=overheads,
    )


def _with_accounts(pieces: QuerySet[PieceAccount]) -> Iterator[tuple[Piece, Account]]:
    rows = pieces.order_by("delivered_on", "pk").values("document", *_STORED, **_JOINED)
    for row in rows.iterator(chunk_size=500):
        account = KEPT_ACCOUNT.read(row.pop("document")).account
        yield Piece(**row), account


def _years(first: date, last: date) -> Decimal:
    """How many years a stretch of days is, each day its part of its own year."""
    total = Decimal(0)
    for year in range(first.year, last.year + 1):
        begin, end = max(first, date(year, 1, 1)), min(last, date(year, 12, 31))
        total += Decimal(max(0, (end - begin).days + 1)) / (366 if isleap(year) else 365)
    return total


def _cause_cost(document: dict[str, str]) -> CauseCost:
    return CauseCost(
        cause=document["cause"],
        bearer=Bearer(document["bearer"]),
        materials=Decimal(document["materials"]),
        labour=Decimal(document["labour"]),
        overhead=Decimal(document["overhead"]),
    )
