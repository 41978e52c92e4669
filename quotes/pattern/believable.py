"""Can a garment have this waist, or is its drawing in another unit than it says?"""

import math
from collections.abc import Iterable

from inventory.ground.findings import Finding, stop, warn
from quotes.defaults import desk_defaults

__all__ = ["MEASURED_UNITS", "MM_PER_UNIT", "UNIT_WORDS", "is_believable_waist", "likelier_unit", "waist_faults"]

MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "px": 25.4 / 96}
"""What a maker may say that a unit of the drawing is (CSS: 1 in = 72 pt = 96 px)."""
MEASURED_UNITS = ("mm", "cm", "in")
"""Those of them that a table or a list of points may be in."""
UNIT_WORDS = {"mm": "millimetres", "cm": "centimetres", "in": "inches", "pt": "points", "px": "pixels"}
FEWEST_OF_A_HALF = 4
"""A whole half has four panels or more; common practice, as in the trade's 4 simple, 5 or 6 usual."""
_SAME_SHARE = 0.005


def is_believable_waist(closed_waist_mm: float) -> bool:
    """Tell whether a garment for an adult may be this large at the waist when closed."""
    bounds = desk_defaults().pattern
    return bounds.least_closed_waist_mm <= closed_waist_mm <= bounds.most_closed_waist_mm


def likelier_unit(closed_waist_mm: float, mm_per_unit: float, units: Iterable[str] = MM_PER_UNIT) -> str | None:
    """Return the unit that makes a waist believable which was read with `mm_per_unit`; None where none does.

    Of several, that whose waist is nearest to a usual one counts.
    """
    usual = desk_defaults().pattern.usual_closed_waist_mm
    fitting = []
    for unit in units:
        factor = MM_PER_UNIT[unit] / mm_per_unit
        if abs(factor - 1) > _SAME_SHARE and is_believable_waist(closed_waist_mm * factor):
            fitting.append((abs(math.log(closed_waist_mm * factor / usual)), unit, factor))
    return min(fitting)[1] if fitting else None


def waist_faults(
    closed_waist_mm: float,
    mm_per_unit: float,
    *,
    panels_per_half: int,
    units_told: bool,
    units: Iterable[str] = MM_PER_UNIT,
) -> list[Finding]:
    """Return what is said of a closed waist that no adult's garment has: a stop that names the likelier unit.

    Where the maker said the unit and no other makes the waist believable, it is only a warning; a small one that so few
    panels come to that some of the half may lack says nothing.
    """
    bounds = desk_defaults().pattern
    lacks_panels = panels_per_half < FEWEST_OF_A_HALF and closed_waist_mm < bounds.least_closed_waist_mm
    if is_believable_waist(closed_waist_mm) or lacks_panels:
        return []
    words = (
        f"The closed waist would be {closed_waist_mm / 10:.4g} cm, which is outside the {bounds.least_closed_waist_mm / 10:g} to "
        f"{bounds.most_closed_waist_mm / 10:g} cm that are believed"
    )
    unit = likelier_unit(closed_waist_mm, mm_per_unit, units)
    if unit is None:
        name = warn if units_told else stop
        return [name("pattern.waist-unbelievable", "waist", f"{words}.", _HINT)]
    likely = closed_waist_mm * MM_PER_UNIT[unit] / mm_per_unit
    return [
        stop(
            "pattern.waist-unbelievable",
            "waist",
            f"{words}; with its numbers read as {UNIT_WORDS[unit]} it would be {likely / 10:.4g} cm, which is likelier.",
            f"Say --units {unit}.",
        )
    ]


_HINT = "Check the units and whether every panel of the half is drawn; say --units mm, cm or in if the size is meant."
