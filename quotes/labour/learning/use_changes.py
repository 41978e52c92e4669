"""Changes to the takeoff's losses that delivered jobs speak for. The maker takes or refuses each."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from quotes.labour.learning.material_use import (
    MaterialFactor,
    MaterialUse,
    PiecesSpoilt,
    SpoilageShare,
    material_factors,
    spoilage_shares,
)
from quotes.labour.learning.observations import SetAside
from quotes.labour.learning.proposals import is_worth_proposing
from quotes.takeoff.losses import SUBJECTS, Losses

__all__ = ["UseChange", "use_changes"]

DIGITS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class UseChange:
    """One of the takeoff's losses that should go from `now` to `learnt`.

    Attributes:
        figure: its name among `SUBJECTS`.
        entries: how many jobs were used.
        evidence: for the maker.
    """

    figure: str
    now: float
    learnt: float
    entries: int
    evidence: str
    set_aside: tuple[SetAside, ...]


def use_changes(
    uses: Sequence[MaterialUse], counts: Sequence[PiecesSpoilt], losses: Losses, *, on: date
) -> tuple[UseChange, ...]:
    """Return a change for each loss that is surely and noticeably off, in the order of `SUBJECTS`.

    Args:
        uses, counts: by figures' names as kinds; uses are quoted by the defaults, whatever was learnt since.
        losses: as they stand.
    """
    assumed = {name: subject.default for name, subject in SUBJECTS.items() if subject.is_counted}
    measured = {row.kind: _of_use(row, losses) for row in material_factors(uses, on=on)}
    counted = {row.kind: _of_pieces(row, losses) for row in spoilage_shares(counts, assumed, on=on)}
    found = {**measured, **counted}
    return tuple(change for name in SUBJECTS if (change := found.get(name)) is not None)


def _of_use(row: MaterialFactor, losses: Losses) -> UseChange | None:
    subject, now = SUBJECTS[row.kind], losses.figure(row.kind).value
    learnt = round(subject.value_of(subject.times(subject.default) * row.factor), DIGITS)
    times = subject.times(learnt) / subject.times(now)
    if not is_worth_proposing(times, off=abs(math.log(times)), error=row.standard_error, entries=row.entries):
        return None
    return _change(row, now, learnt, entries=row.entries, set_aside=row.set_aside)


def _of_pieces(row: SpoilageShare, losses: Losses) -> UseChange | None:
    now, learnt = losses.figure(row.kind).value, round(row.share, DIGITS)
    # Nothing spoilt is infinitely less than any share, and any share infinitely more.
    times = learnt / now if now else math.inf
    if not is_worth_proposing(times, off=abs(learnt - now), error=row.standard_error, entries=row.jobs):
        return None
    return _change(row, now, learnt, entries=row.jobs, set_aside=())


def _change(
    row: MaterialFactor | SpoilageShare, now: float, learnt: float, *, entries: int, set_aside: tuple[SetAside, ...]
) -> UseChange:
    subject = SUBJECTS[row.kind]
    held = "" if now == subject.default else f" The takeoff reckons with {subject.text(now)} already."
    return UseChange(
        figure=row.kind, now=now, learnt=learnt, entries=entries, evidence=row.evidence + held, set_aside=set_aside
    )
