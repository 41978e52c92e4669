"""Measures of a body: which are taken, the middle of three takes, and what is doubtful about them.

Source: common practice; the limits of age and disagreement stand among the desk's defaults.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from statistics import median

from inventory.ground.findings import Finding, warn
from inventory.ground.reading import data_beside
from inventory.ground.units import LengthUnit, format_length
from quotes.defaults import desk_defaults

__all__ = ["MEASURE_UNITS", "MeasureKind", "catalogue", "measuring_findings", "middle_mm"]

MOST_APART_MM = desk_defaults().measuring.most_apart_mm
MOST_DAYS = desk_defaults().measuring.most_days
MEASURE_UNITS = (LengthUnit.CM, LengthUnit.INCH, LengthUnit.MM)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureKind:
    """A measure that is taken: its code, its words, the group it stands in."""

    code: str
    words: str
    group: str


@cache
def catalogue() -> tuple[MeasureKind, ...]:
    """Return the measures that are taken from a client, in the order of taking."""
    return tuple(
        MeasureKind(code=measure["code"], words=measure["words"], group=group["title"])
        for group in data_beside(__file__, "measures.json")["groups"]
        for measure in group["measures"]
    )


def middle_mm(takes_mm: Sequence[float]) -> float:
    """Return the middle one of up to three takes (of two, their mean). At least one take.

    >>> middle_mm([721.0, 724.0, 730.0])
    724.0
    """
    return float(median(takes_mm))


def measuring_findings(
    takes_mm: Mapping[str, Sequence[float]], *, taken_on: date, on: date, unit: LengthUnit
) -> tuple[Finding, ...]:
    """Return what to look at again: takes that disagree, measures that are old."""
    words = {kind.code: kind.words for kind in catalogue()}
    findings = [
        warn(
            "measures.takes-disagree",
            words.get(code, code),
            f"The takes lie {format_length(max(takes) - min(takes), unit)} apart; "
            f"{format_length(MOST_APART_MM, unit)} is allowed.",
            "Take it once more.",
        )
        for code, takes in takes_mm.items()
        if takes and max(takes) - min(takes) > MOST_APART_MM
    ]
    age = (on - taken_on).days
    if age > MOST_DAYS:
        findings.append(
            warn(
                "measures.old",
                "all measures",
                f"They were taken {age} days ago; more than {MOST_DAYS} days are too old to cut by.",
                "Measure again before cutting.",
            )
        )
    return tuple(findings)
