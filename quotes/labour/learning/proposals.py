"""Changes to the table that the entries speak for. The maker takes or refuses each."""

import math
from dataclasses import dataclass
from decimal import Decimal

from quotes.labour.learning.assumptions import judging
from quotes.labour.learning.calibrate import Calibration
from quotes.labour.learning.observations import SetAside
from quotes.labour.operations import StandardTimes

__all__ = ["Proposal", "is_worth_proposing", "proposals"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One operation whose minutes should change by `factor`.

    Attributes:
        default_min: the table's minutes in the jobs it was learnt from, on average.
        learnt_min: what those should have been.
        entries: how many were used.
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


def proposals(calibration: Calibration, times: StandardTimes) -> tuple[Proposal, ...]:
    """Return a proposal for each operation of the table that is surely and noticeably off, the most minutes first."""
    names = {operation.code: operation.name for operation in times.operations}
    found = [
        Proposal(
            operation=row.operation,
            name=names[row.operation],
            factor=row.factor,
            default_min=row.default_min,
            learnt_min=row.default_min * row.factor,
            entries=row.entries,
            evidence=row.evidence,
            set_aside=row.set_aside,
        )
        for row in calibration.factors
        if row.operation in names
        and is_worth_proposing(row.factor, off=abs(math.log(row.factor)), error=row.standard_error, entries=row.entries)
    ]
    return tuple(sorted(found, key=lambda row: (-abs(row.learnt_min - row.default_min), row.operation)))
