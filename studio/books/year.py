"""Use case of the year: everything that a year's books hold, as the rows of its result.

A piece's account holds what was issued to it, its hours, its invoice and the fees of its payments. What is read here is
the rest, each thing once. What came after a month was closed counts on the day on which it was booked; what belongs to
a job that was given up, on the day it was given up or later; what belongs to open work, not yet.
"""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from django.db.models import Case, CharField, Count, F, FloatField, Min, Q, Subquery, Sum, Value, When
from django.db.models.fields.json import KeyTextTransform
from django.db.models.functions import Cast, TruncMonth

from inventory.ground.money import Currency, split
from inventory.models import Movement
from inventory.shelf.settings import studio_currency
from quotes.models import YearlyCost
from studio.books.sums import incurred
from studio.books.year_given_up import given_up
from studio.books.year_ledger import changed_pieces, late_materials, shelf_and_issues
from studio.books.year_payments import late_credits, late_fees, refunds
from studio.models import Job, PieceAccount, TimeEntry
from studio.profit.year import About, Row, Worked, YearResult, year_result

__all__ = ["first_year", "known_days", "result_of_year"]


def result_of_year(year: int, *, on: date) -> YearResult:
    """Return what a year left, up to a day."""
    first, last = date(year, 1, 1), date(year, 12, 31)
    money = studio_currency()
    pieces, charged, pay, not_logged = _pieces(first, last, money)
    days = known_days(year, on=on)
    rows_of_given_up, pay_of_given_up = given_up(first, last, money)
    return year_result(
        currency=money,
        days=days,
        rows=[
            *pieces,
            *changed_pieces(first, last, money),
            *_overhead(charged, days, money),
            *shelf_and_issues(first, last, money),
            *rows_of_given_up,
            *late_materials(first, last, money),
            *late_credits(first, last, money),
            *refunds(first, last, money),
            *late_fees(first, last, money),
        ],
        pay=[*pay, *pay_of_given_up],
        minutes=_minutes(first, last) | {Worked.NOT_LOGGED: not_logged},
    )


def known_days(year: int, *, on: date) -> tuple[date, date] | None:
    """Return the days of a year that are known: from the month of the first work in the books, up to a day; None for none."""
    begin = _first_work()
    if begin is None:
        return None
    first, last = max(begin.replace(day=1), date(year, 1, 1)), min(on, date(year, 12, 31))
    return (first, last) if first <= last else None


def first_year(*, on: date) -> int:
    """Return the first year of which the books hold anything; a day's own where they are empty."""
    known = [_first_work(), Movement.objects.aggregate(day=Min("day"))["day"]]
    return min((day.year for day in known if day), default=on.year)


def _first_work() -> date | None:
    earliest = TimeEntry.objects.order_by("day").values("day")[:1]
    known = Job.objects.aggregate(begun=Min("started_on"), worked=Min(Subquery(earliest)))
    return min((day for day in known.values() if day), default=None)


def _pieces(first: date, last: date, money: Currency) -> tuple[list[Row], Row, list[Row], int]:
    """Profit of the pieces month by month, the overhead that they were charged, the pay for their hours, and the minutes
    of these that nobody logged.
    """
    delivered = PieceAccount.objects.filter(delivered_on__range=(first, last)).annotate(
        month=TruncMonth("delivered_on")
    )
    months = list(
        delivered.order_by("month")
        .values_list("month")
        .annotate(
            count=Count("pk"),
            profit=Sum("actual_profit_minor"),
            overhead=Sum("overhead_minor"),
            labour=Sum("labour_minor"),
            missing=Sum(Cast(KeyTextTransform("missing_hours", "document__account"), FloatField())),
        )
    )
    amount = money.from_minor
    pieces = [
        Row(about=About.MONTH, amount=amount(profit), day=month, count=count) for month, count, profit, *_ in months
    ]
    charged = Row(
        about=About.CHARGED,
        amount=amount(sum(overhead for _, _, _, overhead, _, _ in months)),
        count=sum(count for _, count, *_ in months),
    )
    pay = Row(about=About.PAY_OF_PIECES, amount=amount(sum(labour for *_, labour, _ in months)), count=charged.count)
    # Accounts of earlier versions know of none.
    not_logged = round(60 * sum(missing or 0 for *_, missing in months))
    return pieces, charged, [pay], not_logged


def _overhead(charged: Row, days: tuple[date, date] | None, money: Currency) -> Iterator[Row]:
    """What pieces were charged, and what the known days cost; nothing where nobody has said what a year costs."""
    costs = list(YearlyCost.objects.values_list("what", "amount_minor"))
    yearly = sum(minor for _, minor in costs)
    if not yearly or days is None:
        return
    yield charged
    parts = split(incurred(yearly, *days, money), [Decimal(minor) for _, minor in costs], money)
    for (what, _), part in zip(costs, parts, strict=True):
        yield Row(about=About.COST, amount=-part, what=what)


def _minutes(first: date, last: date) -> dict[Worked, int]:
    """All hours of a year, by what they went into."""
    kind = Case(
        When(operation__job__account__frozen_at__lt=F("written_at"), then=Value(Worked.LATE.value)),
        When(operation__job__stage=Job.Stage.CANCELLED, then=Value(Worked.GIVEN_UP.value)),
        When(~Q(operation__job__stage=Job.Stage.DELIVERED), then=Value(Worked.GOES_ON.value)),
        When(cause="", then=Value(Worked.PLANNED.value)),
        default=Value(Worked.AGAIN.value),
        output_field=CharField(),
    )
    entries = TimeEntry.objects.standing().filter(minutes__gt=0, day__range=(first, last))
    sums = entries.annotate(kind=kind).order_by().values_list("kind").annotate(minutes=Sum("minutes"))
    return {Worked(kind): minutes for kind, minutes in sums}
