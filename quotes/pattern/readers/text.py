"""Lengths in a JSON pattern file, with fractions and units; what is none is said with its place; units told twice."""

import math

from inventory.ground.findings import Finding, refuse, warn
from inventory.ground.units import LengthUnit, parse_length

__all__ = ["length_at", "number_list", "overruled_units"]


def length_at(value: object, where: str, unit: LengthUnit) -> float:
    """Return a length in mm from a JSON value (number or string with fractions). Raises Refused with the place."""
    if not isinstance(value, int | float | str) or isinstance(value, bool):
        raise refuse("file.not-a-length", where, f"{str(value)[:40]!r} is not a length.", "Write a number.")
    try:
        return parse_length(value, unit)
    except (ValueError, OverflowError) as error:
        raise refuse("file.not-a-length", where, str(error)) from None


def number_list(value: object, where: str, unit: LengthUnit, *, count: int | None = None) -> tuple[float, ...]:
    """Return a list of lengths in mm. Raises Refused where it is no list or has another count."""
    if not isinstance(value, list) or (count is not None and len(value) != count):
        wanted = f"a list of {count} numbers" if count is not None else "a list of numbers"
        raise refuse("file.not-a-list", where, f"{where} must be {wanted}.")
    lengths = tuple(length_at(item, f"{where}[{index}]", unit) for index, item in enumerate(value))
    assert all(math.isfinite(length) for length in lengths)
    return lengths


def overruled_units(said: str | None, told: str | None, where: str) -> tuple[Finding, ...]:
    """Return a warning where the maker tells another unit than the file says; the maker's is taken."""
    if said is None or told is None or said == told:
        return ()
    return (
        warn(
            "file.units-overruled",
            where,
            f"The file says {said}, --units says {told}; {told} is taken.",
            "Leave --units out if the file is right.",
        ),
    )
