"""What jobs that were given up took and left: materials, hours, what their clients paid and did not get back, its fees.

All of it counts in the year in which the job was given up, and what comes later in the year of its day.
"""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import date

from django.db.models import OuterRef, QuerySet, Subquery, Sum
from django.db.models.functions import Greatest

from inventory.ground.money import Currency
from inventory.models import Movement
from quotes.pricing.costing import Rates
from studio.models import Job, Payment, TimeEntry
from studio.profit.year import About, Row

__all__ = ["given_up"]


def given_up(first: date, last: date, money: Currency) -> tuple[list[Row], list[Row]]:
    """Return the rows of a year's given-up work, and the pay for its hours.

    Hours and payments of a job that was quoted in another currency than the shelf's cannot be summed and stay out.
    """
    cancelled = Job.objects.filter(stage=Job.Stage.CANCELLED, cancelled_on__lte=last).order_by("pk")
    jobs = list(cancelled.values_list("pk", "reference", "title", "revision__currency"))
    if not jobs:
        return [], []
    within = (first, last)
    names = {pk: f"{reference}, {title}" for pk, reference, title, _ in jobs}
    summed = [pk for pk, _, _, currency in jobs if currency == money.code]
    kept, fees = _payments(summed, within, names, money)
    minutes = _minutes(summed, within)
    rates = _rates(kept.keys() | minutes.keys())
    rows = [*_materials(cancelled, within, names, money), *fees]
    pay = []
    for pk, rate in rates.items():
        if worked := minutes.get(pk):
            worth = money.round(rate.labour_per_hour * worked / 60)
            hours = Row(about=About.HOURS, amount=-worth, what=names[pk], key=f"{pk}", count=worked)
            rows.append(hours)
            pay.append(replace(hours, about=About.PAY_OF_GIVEN_UP, amount=worth))
        if paid := kept.get(pk):
            without_tax = money.round(money.from_minor(paid) / (1 + rate.tax_share), rate.rounding)
            rows.append(Row(about=About.KEPT, amount=without_tax, what=names[pk], key=f"{pk}"))
    return rows, pay


def _materials(
    cancelled: QuerySet[Job], within: tuple[date, date], names: dict[int, str], money: Currency
) -> list[Row]:
    job = cancelled.filter(reference=OuterRef("posting__job"))
    movements = Movement.objects.filter(posting__job__in=cancelled.values("reference"))
    dated = movements.annotate(
        job=Subquery(job.values("pk")[:1]), counts_on=Greatest("day", Subquery(job.values("cancelled_on")[:1]))
    )
    values = dated.filter(counts_on__range=within).order_by("posting__job").values_list("job", "posting__job")
    return [
        Row(about=About.MATERIALS, amount=money.from_minor(value), what=names[pk], key=reference)
        for pk, reference, value in values.annotate(value=Sum("value_minor"))
    ]


def _minutes(jobs: Sequence[int], within: tuple[date, date]) -> dict[int, int]:
    entries = TimeEntry.objects.standing().filter(operation__job__in=jobs, minutes__gt=0)
    dated = entries.annotate(counts_on=Greatest("day", "operation__job__cancelled_on")).filter(counts_on__range=within)
    return dict(dated.order_by().values_list("operation__job").annotate(minutes=Sum("minutes")))


def _payments(
    jobs: Sequence[int], within: tuple[date, date], names: dict[int, str], money: Currency
) -> tuple[dict[int, int], list[Row]]:
    """What clients paid less what went back, by job, and the fees of it."""
    payments = Payment.objects.filter(job__in=jobs)
    dated = payments.annotate(counts_on=Greatest("day", "job__cancelled_on")).filter(counts_on__range=within)
    kept: dict[int, int] = defaultdict(int)
    fees = []
    for pk, number, day, amount, fee in dated.order_by("pk").values_list(
        "job", "number", "day", "amount_minor", "fee_minor"
    ):
        kept[pk] += amount
        if fee:
            fees.append(Row(about=About.FEE, amount=money.from_minor(-fee), what=names[pk], key=f"{number}", day=day))
    return kept, fees


def _rates(jobs: Collection[int]) -> dict[int, Rates]:
    of_jobs = Job.objects.filter(pk__in=jobs).select_related("revision").order_by("pk")
    return {job.pk: job.revision.snapshot.rates for job in of_jobs}
