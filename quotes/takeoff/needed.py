"""Before which operation a material must be there, and whether it shows: read once from `material_operations.json`."""

import json
from functools import cache
from pathlib import Path

from quotes.takeoff.takeoff import Needed

__all__ = ["needed"]


def needed(family: str) -> Needed:
    """Return when the material of a kind of line is needed. Raises KeyError for a kind without an entry."""
    return _lines()[family]


@cache
def _lines() -> dict[str, Needed]:
    document = json.loads(Path(__file__).with_name("material_operations.json").read_text(encoding="utf-8"))
    return {family: Needed(family=family, **row) for family, row in document["lines"].items()}
