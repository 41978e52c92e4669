"""Changes to the table that the log speaks for. The maker takes or refuses each."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.wording import minutes_text
from quotes.labour.hours import Hours, OperationFactor
from quotes.labour.hours.doubts import Doubt
from quotes.labour.learning.assumptions import judging
from quotes.labour.learning.observations import SetAside, set_aside_words
from quotes.labour.operations import Operation, StandardTimes
from quotes.labour.spread import NORMAL_90

__all__ = ["Proposal", "is_worth_proposing", "proposals"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One operation whose minutes should change by `factor`.

    Attributes:
        default_min: the table's minutes in the jobs it was learnt from, on average.
        learnt_min: what those should have been.
        entries: in how many jobs its time was written.
        evidence: for the maker.
        effect_on_price: of a piece, in the studio's currency; None until the caller has worked it out.
    """

    operation: str
    name: str
    factor: float
    default_min: float
    learnt_min: float
    entries: int
    evidence: str
    set_aside: tuple[SetAside, ...]
    effect_on_price: Decimal | None = None


def is_worth_proposing(times: float, *, off: float, error: float, entries: int) -> bool:
    """Whether a change is surely and noticeably one: of enough entries, large enough, and beyond chance.

    Args:
        times: what the figure would become of what it is.
        off: how far it is from what it is, in the unit of `error`, its standard error.
    """
    rules = judging()
    return (
        entries >= rules.fewest_entries and abs(times - 1) >= rules.material_share and off > rules.sure_errors * error
    )


def proposals(hours: Hours, times: StandardTimes) -> tuple[Proposal, ...]:
    """Return a proposal for each operation of the table that is surely and noticeably off, the most minutes first.

    Args:
        hours: learnt from jobs whose estimates leave out what was learnt before.
        times: the table as it stands, with the paces that were taken.
    """
    table = {operation.code: operation for operation in times.operations}
    found = [
        _proposal(row, table[row.code], hours.doubts)
        for row in hours.operations
        if row.code in table and _is_off(row, table[row.code].pace)
    ]
    return tuple(sorted(found, key=lambda row: (-abs(row.learnt_min - row.default_min), row.operation)))


def _factor_words(row: OperationFactor) -> str:
    jobs = f"{row.jobs} {'job' if row.jobs == 1 else 'jobs'}"
    return (
        f"In {jobs} its time was written: {row.factor:.2f} times the table’s minutes on average, 8 times in 10 between "
        f"{row.low:.2f} and {row.high:.2f}."
    )


def _is_off(row: OperationFactor, pace: float) -> bool:
    error = math.log(row.high / row.low) / (2 * NORMAL_90)
    times = row.factor / pace
    return is_worth_proposing(times, off=abs(math.log(times)), error=error, entries=row.jobs)


def _proposal(row: OperationFactor, operation: Operation, doubts: Sequence[Doubt]) -> Proposal:
    aside = tuple(
        SetAside(
            job=doubt.job,
            day=doubt.day,
            why=f"{minutes_text(doubt.minutes)} were written: a timer left running, or started late?",
        )
        for doubt in doubts
        if row.code in doubt.operations
    )
    held = f" The table holds {operation.pace:g} times its minutes already." if operation.pace != 1 else ""
    return Proposal(
        operation=row.code,
        name=operation.name,
        factor=row.factor / operation.pace,
        default_min=row.default_min * operation.pace,
        learnt_min=row.default_min * row.factor,
        entries=row.jobs,
        evidence=f"{_factor_words(row)}{set_aside_words(len(aside))}{held}",
        set_aside=aside,
    )
