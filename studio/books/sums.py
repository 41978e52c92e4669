"""What finished pieces earned, summed by the database: in all, by style, construction, client or month; overhead; quotes.

Money is whole minor units of the studio's currency. Nothing here loads an account's document, except what a period's
losses are asked for and the printed document of all.
"""

from calendar import isleap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import BigIntegerField, Count, ExpressionWrapper, F, Max, Min, Q, QuerySet, Sum
from django.db.models.functions import NullIf, TruncMonth
from django.utils import timezone

from inventory.ground.days import EARLIEST, LATEST
from inventory.ground.money import nearest
from inventory.shelf.settings import studio_currency
from quotes.models import QuoteRevision, YearlyCost
from quotes.workroom.settings import workroom
from studio.models import PieceAccount
from studio.profit.overhead import Absorption, absorption
from studio.profit.piece import Bearer, CauseCost
from studio.profit.profit_json import profit_document
from studio.profit.totals import Outcome, Piece

__all__ = [
    "KEYS",
    "Sums",
    "accounts",
    "best_and_worst",
    "outcomes",
    "overhead",
    "pieces_document",
    "profits",
    "sums",
    "sums_by",
    "with_margin",
]

KEYS = {
    "style": ("style",),
    "construction": ("construction",),
    "client": ("job__client_id", "job__client__name"),
    "month": ("month",),
}
"""What pieces can be put together by, with its columns; the last is what people read."""

MOST_OPTIONS = 12  # as many as a commission may have


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """Pieces together. `per_hour_minor` is of the sums: profit and labour for each hour; None where no hour was logged."""

    key: Any
    pieces: int
    net_minor: int
    quoted_minor: int
    profit_minor: int
    minutes: int
    per_hour_minor: int | None
    under_floor: int

    @property
    def more_than_quoted_minor(self) -> int:
        """Profit beyond the quoted one; below zero where it is less."""
        return self.profit_minor - self.quoted_minor

    @property
    def margin_share(self) -> Decimal | None:
        """Profit as a share of net; None where nothing was invoiced."""
        return Decimal(self.profit_minor) / self.net_minor if self.net_minor > 0 else None


_SUMS = {
    "pieces": Count("pk"),
    "net": Sum("net_minor"),
    "quoted": Sum("quoted_profit_minor"),
    "profit": Sum("actual_profit_minor"),
    "worked": Sum("minutes"),
    "earned": Sum(F("actual_profit_minor") + F("labour_minor")),
    "under": Count("pk", filter=Q(is_under_floor=True)),
}


def accounts() -> QuerySet[PieceAccount]:
    """Return the accounts of all finished pieces with job and client, without their documents."""
    # What stands behind the document in a row is as dear to read as the document.
    return PieceAccount.objects.select_related("job__client").defer("document", "frozen_at")


def with_margin(pieces: QuerySet[PieceAccount]) -> QuerySet[PieceAccount]:
    """Return pieces with `margin_millionths` to sort by: profit as a share of net, empty where nothing was invoiced."""
    margin = ExpressionWrapper(
        F("actual_profit_minor") * 1_000_000 / NullIf(F("net_minor"), 0), output_field=BigIntegerField()
    )
    return pieces.annotate(margin_millionths=margin)


def sums(pieces: QuerySet[PieceAccount]) -> Sums:
    """Return the sums of pieces: one query."""
    return _sums_of(pieces.order_by().aggregate(**_SUMS), "")


def sums_by(pieces: QuerySet[PieceAccount], key: str) -> list[Sums]:
    """Return the sums of pieces for each value of a key of `KEYS`, in the order of the keys: one query."""
    columns = KEYS[key]
    grouped = pieces.annotate(month=TruncMonth("delivered_on")) if key == "month" else pieces
    groups = grouped.order_by().values(*columns).annotate(**_SUMS).order_by(columns[-1])
    return [_sums_of(group, group[columns[-1]]) for group in groups]


def best_and_worst(pieces: QuerySet[PieceAccount], *, most: int) -> tuple[list[PieceAccount], list[PieceAccount]]:
    """Return the pieces that earned most for an hour, and those that earned least; none is both."""
    timed = pieces.filter(minutes__gt=0)
    best = list(timed.order_by("-per_hour_minor", "pk").values_list("pk", flat=True)[:most])
    worst = list(timed.order_by("per_hour_minor", "pk").values_list("pk", flat=True)[:most])
    by_pk = accounts().in_bulk({*best, *worst})
    return [by_pk[pk] for pk in best], [by_pk[pk] for pk in worst if pk not in best]


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
        incurred=money.round(money.from_minor(yearly) * _years(first, last)),
        absorbed=money.from_minor(absorbed),
        cause_costs=[
            _cause_cost(cost)
            for costs in losses.values_list("document__account__cause_costs", flat=True)
            for cost in costs
        ],
    )


def outcomes(first: date, last: date, *, on: date) -> list[Outcome]:
    """Return the quotes that were decided from a day to a day, at the price that the client saw.

    What was declined counts at its first option's price, and so does what nobody answered until it expired.
    """
    State = QuoteRevision.State
    first, last = max(first, EARLIEST), min(last, LATEST)
    begin, end = (timezone.make_aware(datetime.combine(day, time())) for day in (first, last + timedelta(days=1)))
    decided = Q(state__in=(State.ACCEPTED, State.DECLINED), decided_at__gte=begin, decided_at__lt=end)
    expired = Q(state=State.SENT, valid_until__lt=on, valid_until__range=(first, last))
    money = studio_currency()
    revisions = QuoteRevision.objects.filter(decided | expired, currency=money.code)
    return [
        Outcome(price=money.from_minor(price_minor), is_won=state == State.ACCEPTED)
        for state, price_minor in revisions.order_by("pk").values_list("state", "price_minor")
    ]


def profits(first: date | None, last: date | None, *, on: date) -> dict[str, Any]:
    """Return the printed document of what was delivered from a day to a day: without one, from the first or until now."""
    known = PieceAccount.objects.aggregate(first=Min("delivered_on"), last=Max("delivered_on"))
    begin = max(first or known["first"] or on, EARLIEST)
    end = min(last or max(on, known["last"] or on), LATEST)
    return pieces_document(
        PieceAccount.objects.filter(delivered_on__range=(begin, end)),
        decided=outcomes(begin, end, on=on),
        overheads=overhead(begin, min(end, on)),
    )


def pieces_document(
    pieces: QuerySet[PieceAccount], *, decided: Sequence[Outcome] = (), overheads: Absorption | None = None
) -> dict[str, Any]:
    """Return the printed document of pieces, in the order of their delivery."""
    floor = workroom().rates.get("minimum_per_hour")
    return profit_document(
        list(_pieces(pieces.select_related("job__client").order_by("delivered_on", "pk"))),
        studio_currency(),
        minimum_per_hour=None if floor is None else Decimal(floor),
        outcomes=decided,
        overhead=overheads,
    )


def _pieces(pieces: QuerySet[PieceAccount]) -> Iterator[Piece]:
    for piece in pieces.iterator(chunk_size=500):
        yield Piece(
            job=piece.job.reference,
            title=piece.job.title,
            delivered=piece.delivered_on,
            style=piece.style,
            construction=piece.construction,
            client=piece.job.client.name,
            account=piece.kept.account,
        )


def _sums_of(figures: dict[str, Any], key: Any) -> Sums:
    minutes = figures["worked"] or 0
    return Sums(
        key=key,
        pieces=figures["pieces"],
        net_minor=figures["net"] or 0,
        quoted_minor=figures["quoted"] or 0,
        profit_minor=figures["profit"] or 0,
        minutes=minutes,
        per_hour_minor=nearest(60 * figures["earned"], minutes) if minutes else None,
        under_floor=figures["under"],
    )


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
