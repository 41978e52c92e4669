"""What an option asks of the shelf, read from its document: which material in which length, how much, for which operation."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from functools import cache
from pathlib import Path
from typing import Any

__all__ = ["MaterialNeed", "material_needs"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialNeed:
    """A material in one size.

    Attributes:
        size_tenths_mm: the length that a flat or a busk must have; 0 for what comes in no lengths.
        quantity: in the stock unit, not finer than a base unit (0.001 m, one piece).
        operation: the operation before which it must be there.
        is_visible: seen on the finished piece, so that all of it must be of one lot.
    """

    material: str
    size_tenths_mm: int
    quantity: Decimal
    operation: str
    is_visible: bool

    @property
    def size_mm(self) -> float:
        """The length in mm; 0 for none."""
        return self.size_tenths_mm / 10


def material_needs(option: Mapping[str, Any]) -> tuple[MaterialNeed, ...]:
    """Return what an option of a quotation's document takes, one row per material, size and operation.

    The use with its waste counts, not what is bought in whole packs: the rest of a pack stays on the shelf.
    """
    takeoff = option["takeoff"]
    names = {row["code"]: row["name"] for row in takeoff["labour"]["operations"]}
    visible_roles = {takeoff["cloths"][0]["role"]} if takeoff["cloths"] else set()
    found: dict[tuple[str, int, str], MaterialNeed] = {}
    for line in takeoff["lines"]:
        rule = _rules()[line["code"].partition(".")[0]]
        key = (line["material"], _size(line["code"], takeoff), names.get(rule["before"], rule["words"]))
        step = Decimal("0.001") if line["unit"] == "m" else Decimal(1)
        quantity = Decimal(line["quantity"]).quantize(step, rounding=ROUND_CEILING)
        if not quantity:
            continue
        roles = set(line["code"].partition(".")[2].split("+"))
        is_visible = rule["visible"] == "always" or (rule["visible"] == "outer" and bool(roles & visible_roles))
        before = found.get(key)
        found[key] = MaterialNeed(
            material=key[0],
            size_tenths_mm=key[1],
            quantity=quantity + (before.quantity if before else 0),
            operation=key[2],
            is_visible=is_visible or (before is not None and before.is_visible),
        )
    return tuple(found.values())


def _size(code: str, takeoff: Mapping[str, Any]) -> int:
    """The length that must lie on the shelf, in tenths of a millimetre."""
    kind, _, size = code.partition(".")
    if kind == "flat":
        return round(float(size) * 10)
    if kind in ("busk", "zip"):
        return round(float(takeoff["front"]["length_mm"]) * 10)
    return 0


@cache
def _rules() -> dict[str, dict[str, str]]:
    document = json.loads(Path(__file__).with_name("material_operations.json").read_text(encoding="utf-8"))
    rules: dict[str, dict[str, str]] = document["lines"]
    return rules
