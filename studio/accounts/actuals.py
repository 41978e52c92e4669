"""What a delivered piece was quoted at and what it really took: gathered from quote, ledger, time and invoice."""

import decimal
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from django.db.models import Sum

from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import refuse
from inventory.ground.materials import StockUnit, kind_of
from inventory.ground.measures import amount_of
from inventory.ground.money import Currency
from inventory.models import Movement, Posting
from inventory.shelf.settings import shelf
from studio.jobs.sittings import worked
from studio.models import Job, JobOperation, TimeEntry
from studio.profit.piece import Actual, Amount, Quoted, Rework, Spoiled, Unlogged, UsedMaterial, WorkedOperation
from studio.profit.quoted import quoted_from

__all__ = ["gather"]

Kind = Posting.Kind
USUAL_LOSS = "normal"
EXTRAS = "Extras"
_BY_UNIT = {StockUnit.METRE: "by the metre", StockUnit.EACH: "by the piece"}
"""How a bone is counted that lies in another form than its material's own."""


def gather(job: Job) -> tuple[Quoted, Actual]:
    """Return what was quoted and what happened, with its revision and client loaded; the rates are the quote's own.

    Raises:
        Refused: it was quoted in another currency than the shelf is kept in.
    """
    if job.net_minor is None or job.fee_minor is None:
        raise ValueError(f"{job} has no invoice.")
    money = _currency(job)
    quoted = quoted_from(job.option, money, job.revision.snapshot.rates)
    sundries = _sundries(job, quoted)
    quoted, extras = _extras(quoted, money.from_minor(job.extras_minor))
    spent, again = _time(job, quoted)
    credited = job.credits.order_by("pk").values_list("why", "net_minor")
    credits = tuple(Amount(what=why, amount=money.from_minor(minor)) for why, minor in credited)
    actual = Actual(
        net=money.from_minor(job.net_minor) - sum((row.amount for row in credits), Decimal(0)),
        fee=money.from_minor(job.fee_minor),
        change_orders=tuple(
            Amount(what=change.what, amount=money.from_minor(change.net_minor)) for change in job.changes.order_by("pk")
        ),
        discount=money.from_minor(job.discount_minor),
        materials=(*_materials(job, money), *sundries),
        spoiled=_spoiled(job, money),
        hours=spent,
        rework=again,
        labour_rate=quoted.labour_rate,
        overhead_rate=quoted.overhead_rate,
        extras=extras,
        credits=credits,
    )
    return quoted, actual


def _currency(job: Job) -> Currency:
    money = job.currency
    kept_in = shelf().currency
    if money.code != kept_in:
        raise refuse(
            "account.currency",
            str(job),
            f"This piece was quoted in {money.code}, and the shelf is kept in {kept_in}.",
            "What it earned cannot be worked out from two currencies.",
        )
    return money


def _sundries(job: Job, quoted: Quoted) -> tuple[UsedMaterial, ...]:
    """What no shelf counts, as quoted."""
    counted = {line.material for line in job.option.takeoff.lines}
    return tuple(
        UsedMaterial(
            code=sundry.code, what=sundry.what, quantity=sundry.quantity, unit=sundry.unit, value=sundry.amount
        )
        for sundry in quoted.materials
        if sundry.code not in counted
    )


def _extras(quoted: Quoted, paid: Decimal) -> tuple[Quoted, tuple[Amount, ...]]:
    """Extras are paid in one sum: where it is another than quoted, several that were quoted are held against it as one."""
    asked = sum((extra.amount for extra in quoted.extras), Decimal(0))
    if paid == asked:
        return quoted, quoted.extras
    if len(quoted.extras) > 1:
        quoted = replace(quoted, extras=(Amount(what=EXTRAS, amount=asked),))
    what = quoted.extras[0].what if quoted.extras else EXTRAS
    return quoted, (Amount(what=what, amount=paid),) if paid else ()


def _materials(job: Job, money: Currency) -> Iterator[UsedMaterial]:
    """What the ledger gave to a job less what came back, by material and the unit of its form, at the ledger's value."""
    moved = (
        Movement.objects.filter(posting__job=job.reference, posting__kind__in=(Kind.ISSUE, Kind.RETURN))
        .values_list(
            "item__material__code",
            "item__material__name",
            "item__material__kind",
            "item__material__form",
            "item__form",
        )
        .annotate(quantity=Sum("quantity"), value=Sum("value_minor"))
        .order_by("item__material__code", "item__form")
    )
    together: dict[tuple[str, StockUnit], tuple[str, int, int]] = {}
    for code, name, kind, own_form, form, more, worth in moved:
        own_unit, unit = _unit(kind, own_form), _unit(kind, form or own_form)
        what = name if unit is own_unit else f"{name}, {_BY_UNIT[unit]}"
        _, quantity, value = together.get((code, unit), ("", 0, 0))
        together[code, unit] = what, quantity + more, value + worth
    for (code, unit), (what, quantity, value) in together.items():
        if quantity:
            yield UsedMaterial(
                code=code, what=what, quantity=amount_of(-quantity, unit), unit=unit, value=money.from_minor(-value)
            )


def _unit(kind: str, form: str) -> StockUnit:
    """What a material of a kind is counted by, or a bone in a form."""
    return BoneForm(form).unit if form else kind_of(kind).unit


def _spoiled(job: Job, money: Currency) -> tuple[Spoiled, ...]:
    """Scrap by the cause of its posting; what tells none is the usual loss."""
    values: dict[str, int] = defaultdict(int)
    scrapped = Movement.objects.filter(posting__job=job.reference, posting__kind=Kind.SCRAP)
    for cause, value in scrapped.values_list("posting__cause", "value_minor"):
        values[cause or USUAL_LOSS] -= value
    return tuple(Spoiled(cause=cause, value=money.from_minor(value)) for cause, value in sorted(values.items()))


def _time(job: Job, quoted: Quoted) -> tuple[tuple[WorkedOperation, ...], tuple[Rework, ...]]:
    """Hours by operation, and by cause what was done again; a correction stands in place of what it replaces.

    A sitting over several operations is shared among them; all together take what was logged. An operation without time
    takes what was planned, unless its time stands with other work or it was left undone.
    """
    stands = TimeEntry.objects.standing().filter(operation__job=job, minutes__gt=0)
    taken: dict[int, int] = defaultdict(int)
    again: dict[str, int] = defaultdict(int)
    for part in worked(stands):
        if part.cause:
            again[part.cause] += part.minutes
        else:
            taken[part.operation] += part.minutes
    planned = {row.code: row.hours for row in quoted.operations}
    hours = (
        WorkedOperation(code=row.code, name=row.name, hours=_hours(taken[row.pk]))
        if row.pk in taken
        else _unlogged(row, planned.get(row.code))
        for row in job.operations.order_by("place")
    )
    rework = (Rework(cause=cause, hours=_hours(minutes)) for cause, minutes in sorted(again.items()))
    return tuple(row for row in hours if row.hours or row.unlogged), tuple(rework)


def _unlogged(operation: JobOperation, quoted: Decimal | None) -> WorkedOperation:
    """What counts of an operation that has no time: as quoted where nobody logged it, as planned where it was not quoted."""
    why = Unlogged(operation.unlogged) or Unlogged.MISSING
    planned = Decimal(repr(round(operation.planned_min, 6))) / 60 if quoted is None else quoted
    return WorkedOperation(
        code=operation.code,
        name=operation.name,
        hours=planned if why is Unlogged.MISSING else Decimal(0),
        unlogged=why,
    )


def _hours(minutes: int) -> Decimal:
    # Up at the last digit, so that a sum of hours at a rate that comes to half a cent is no less than half a cent.
    with decimal.localcontext(rounding=decimal.ROUND_CEILING):
        return Decimal(minutes) / 60
