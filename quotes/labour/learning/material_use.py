"""Material use learnt: what is used of what was quoted, and what share of small pieces is spoilt.

Lengths (cloth against its lay, cord, tape) have a factor each, found as the minutes are. Pieces (grommets, tips, bones)
have a share spoilt, spoilt ÷ needed, whose belief is a beta distribution of the chance that a piece set is a piece
spoilt; what the takeoff assumes is worth so many pieces of it. Source: any textbook of Bayesian statistics.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.ground.wording import percent_text
from quotes.labour.learning.assumptions import judging, material_beliefs
from quotes.labour.learning.fit import Fit, fit
from quotes.labour.learning.observations import Columns, Entry, SetAside, columns, set_aside_words

__all__ = ["MaterialFactor", "MaterialUse", "PiecesSpoilt", "SpoilageShare", "material_factors", "spoilage_shares"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialUse:
    """What a job used of a kind of material that is measured, and what was quoted, both in metres and > 0."""

    job: str
    day: date
    kind: str
    quoted: float
    used: float

    def __post_init__(self) -> None:
        if not (0 < self.quoted < math.inf and 0 < self.used < math.inf):
            raise ValueError(f"A use of material takes amounts above 0: {self}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialFactor:
    """What is used of what is quoted, on average. `standard_error` is of the natural logarithm of `factor`."""

    kind: str
    factor: float
    standard_error: float
    entries: int
    set_aside: tuple[SetAside, ...]
    evidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PiecesSpoilt:
    """How many pieces of a kind a job needed, >= 1, and how many it spoilt on top of them, >= 0.

    `is_assumed` where nobody told: what was reckoned with is taken to have been spoilt, be it no whole number.
    """

    job: str
    day: date
    kind: str
    needed: int
    spoilt: float
    is_assumed: bool = False

    def __post_init__(self) -> None:
        if self.needed < 1 or self.spoilt < 0:
            raise ValueError(
                f"Spoilage takes pieces needed, 1 at the least, and pieces spoilt, 0 at the least: {self}."
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class SpoilageShare:
    """Spoilt ÷ needed, and its standard error. `jobs` told of it; pieces fade with age."""

    kind: str
    share: float
    standard_error: float
    jobs: int
    evidence: str


def material_factors(uses: Sequence[MaterialUse], *, on: date) -> tuple[MaterialFactor, ...]:
    """Return the factor of each kind, by name, as known on the day `on`."""
    table = columns(
        [
            Entry(job=use.job, day=use.day, kind=use.kind, expected=use.quoted, found=use.used)
            for use in uses
            if use.day <= on
        ]
    )
    known = fit(table, on, material_beliefs())
    return tuple(_factor(kind, table, known) for kind in sorted(table.kinds))


def spoilage_shares(
    counts: Sequence[PiecesSpoilt], assumed: Mapping[str, float], *, on: date
) -> tuple[SpoilageShare, ...]:
    """Return the share spoilt of each kind, by name, as known on the day `on`.

    Args:
        assumed: spoilt ÷ needed of every kind that is counted, as the takeoff has it, >= 0.

    Raises:
        KeyError: a kind is counted of which nothing is assumed.
    """
    by_kind: dict[str, list[PiecesSpoilt]] = defaultdict(list)
    for count in counts:
        if count.day <= on:
            by_kind[count.kind].append(count)
    return tuple(_spoilage(kind, by_kind[kind], assumed[kind], on) for kind in sorted(by_kind))


def _factor(kind: str, table: Columns, known: Fit) -> MaterialFactor:
    places = [place for place, entry in enumerate(table.entries) if entry.kind == kind]
    aside = [place for place in places if known.is_high[place] or known.is_low[place]]
    log_factor, error = known.log_factor(kind)
    factor, jobs = math.exp(log_factor), len({table.job[place] for place in places if place not in aside})
    return MaterialFactor(
        kind=kind,
        factor=factor,
        standard_error=error,
        entries=len(places) - len(aside),
        set_aside=tuple(_set_aside(table, known, place) for place in aside),
        evidence=f"In {jobs} {'job' if jobs == 1 else 'jobs'} {factor:.2f} times what was quoted was used on average.{set_aside_words(len(aside))}",
    )


def _set_aside(table: Columns, known: Fit, place: int) -> SetAside:
    entry, expected = table.entries[place], float(known.expected[place])
    cause = "a re-cut, or entered wrongly" if known.is_high[place] else "not all of it was issued to the job"
    return SetAside(
        job=entry.job, day=entry.day, why=f"{entry.found:.2f} m where {expected:.2f} m was expected: {cause}"
    )


def _spoilage(kind: str, counts: Sequence[PiecesSpoilt], assumed: float, on: date) -> SpoilageShare:
    half_life, worth = material_beliefs().half_life_days, judging().spoilage_pieces
    fades = [0.5 ** ((on - count.day).days / half_life) for count in counts]
    spoilt = worth * assumed + math.fsum(fade * count.spoilt for fade, count in zip(fades, counts, strict=True))
    good = worth + math.fsum(fade * count.needed for fade, count in zip(fades, counts, strict=True))
    chance = spoilt / (spoilt + good)
    error = math.sqrt(chance * (1 - chance) / (spoilt + good + 1)) / (1 - chance) ** 2
    told = [count for count in counts if not count.is_assumed]
    jobs, untold = len({count.job for count in told}), len({count.job for count in counts if count.is_assumed})
    return SpoilageShare(
        kind=kind,
        share=spoilt / good,
        standard_error=error,
        jobs=jobs,
        evidence=(
            f"{sum(count.spoilt for count in told):g} were spoilt where {sum(count.needed for count in told)} were "
            f"needed, in {jobs} {'job' if jobs == 1 else 'jobs'}; with the {percent_text(assumed)} that was assumed this makes "
            f"{percent_text(spoilt / good)}.{_untold_words(untold)}"
        ),
    )


def _untold_words(jobs: int) -> str:
    if not jobs:
        return ""
    more = "1 more job" if jobs == 1 else f"{jobs} more jobs"
    return f" Of {more} nothing beside the plan was noted; they count with what was reckoned."
