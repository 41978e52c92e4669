"""Before which operation a material must be there, and whether it shows: read once from `material_operations.json`."""

from functools import cache

from inventory.ground.reading import data_beside
from quotes.takeoff.takeoff import Needed

__all__ = ["needed"]


def needed(family: str) -> Needed:
    """Return when the material of a kind of line is needed. Raises KeyError for a kind without an entry."""
    return _lines()[family]


@cache
def _lines() -> dict[str, Needed]:
    lines = data_beside(__file__, "material_operations.json")["lines"]
    return {family: Needed(family=family, **row) for family, row in lines.items()}
