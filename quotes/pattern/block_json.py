"""An estimating block as a file says it, in a JSON pattern or in a commission."""

from inventory.ground.codec import Document
from inventory.ground.findings import refuse
from inventory.ground.units import LengthUnit
from quotes.pattern.block import Block, Level
from quotes.pattern.readers.text import length_at, number_list

__all__ = ["read_block"]

_KEYS = frozenset({"panels_per_half", "lacing_gap", "levels", "top", "bottom"})


def read_block(document: object, *, unit: LengthUnit, where: str, name: str) -> Block:
    """Return the block that `document` describes. Raises Refused with the path of what is missing or wrong."""
    if not isinstance(document, dict):
        raise refuse("block.not-an-object", where, "The block must be an object.")
    _known_keys(document, _KEYS, where)
    panels = document["panels_per_half"]
    if not isinstance(panels, int) or isinstance(panels, bool):
        raise refuse("block.panel-count", f"{where}.panels_per_half", "The number of panels is a whole number.")
    levels = document["levels"]
    if not isinstance(levels, list) or len(levels) > 60:
        raise refuse("block.levels", f"{where}.levels", "The levels must be a list of at most 60.")
    front, side, back = number_list(document["top"], f"{where}.top", unit, count=3)
    low_front, low_side, low_back = number_list(document["bottom"], f"{where}.bottom", unit, count=3)
    return Block(
        name=name,
        panels_per_half=panels,
        lacing_gap_mm=length_at(document["lacing_gap"], f"{where}.lacing_gap", unit),
        levels=tuple(_level(level, f"{where}.levels[{index}]", unit) for index, level in enumerate(levels)),
        top=(front, side, back),
        bottom=(low_front, low_side, low_back),
    )


def _level(document: object, where: str, unit: LengthUnit) -> Level:
    if not isinstance(document, dict):
        raise refuse("block.level", where, "A level must be an object with height and girth.")
    _known_keys({"take_in": 0, **document}, frozenset({"height", "girth", "take_in"}), where)
    return Level(
        height_mm=length_at(document["height"], f"{where}.height", unit),
        girth_mm=length_at(document["girth"], f"{where}.girth", unit),
        take_in_mm=length_at(document["take_in"], f"{where}.take_in", unit) if "take_in" in document else None,
    )


def _known_keys(document: Document, keys: frozenset[str], where: str) -> None:
    for key in document:
        if key not in keys:
            raise refuse(
                "file.unknown-key",
                f"{where}.{key[:60]}",
                f"The key {key[:60]!r} is not known here.",
                f"Known are {', '.join(sorted(keys))}.",
            )
    for key in sorted(keys):
        if key not in document:
            raise refuse("file.missing-key", f"{where}.{key}", f"The key {key!r} is missing.")
