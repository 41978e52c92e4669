"""What a quote says in words: what is included, which cautions apply."""

import json
from pathlib import Path

from inventory.ground.wording import percent_text
from quotes.pattern.fit import LARGE_REDUCTION_MM
from quotes.pricing.costing import Rates
from quotes.seal.sealed import SealedOption

__all__ = ["brief_cautions", "cautions", "included"]

_CAUTIONS = Path(__file__).with_name("cautions.json")
_FRONTS = {"busk": "a steel busk", "zip": "an open-ended zip", "closed": "a closed front"}


def included(option: SealedOption, rates: Rates) -> list[str]:
    """Return the lines that say what an option's price holds, and what it does not."""
    takeoff = option.takeoff
    choices = takeoff.choices
    bones = sum(run.count for run in takeoff.bones)
    layers = takeoff.construction.cloth_layers
    fittings = choices.fittings
    has_parcel = any(line.code == "parcel" for line in takeoff.lines)
    lines = [
        f"{_count(layers, 'layer')} of cloth, {2 * takeoff.pattern.panels_per_half} panels",
        _count(bones, "bone"),
        f"{_FRONTS[takeoff.front.kind]} in front",
        f"{2 * takeoff.grommets.per_side} grommets with washers and lacing cord"
        if takeoff.grommets.per_side
        else "no lacing",
        "a modesty panel behind the lacing" if choices.modesty_panel else "no modesty panel",
        *(["flossed bone ends"] if choices.flossing else []),
        (f"{_count(fittings, 'fitting')}" if fittings else "no fitting") + (", with a toile" if choices.toile else ""),
        "a care note",
        "packing for the post" if has_parcel else "no postage: to be collected",
        f"tax at {percent_text(rates.tax_share)}" if rates.tax_share else "no tax is charged",
    ]
    return [line[0].upper() + line[1:] for line in lines]


def cautions(audience: str, option: SealedOption, *, reduction_mm: float | None) -> list[str]:
    """Return the cautions for "client" or "workroom" that an option calls for."""
    return [row["text"] for row in _applying(audience, option, reduction_mm=reduction_mm)]


def brief_cautions(option: SealedOption, *, reduction_mm: float | None) -> list[str]:
    """Return the client's cautions in the few words of an offer, as messages of the catalogues."""
    return [row["brief"] for row in _applying("client", option, reduction_mm=reduction_mm)]


def _applying(audience: str, option: SealedOption, *, reduction_mm: float | None) -> list[dict[str, str]]:
    takeoff = option.takeoff
    applies = {
        "always": True,
        "metal": takeoff.front.kind == "busk" or takeoff.grommets.sets > 0,
        "grommets": takeoff.grommets.sets > 0,
        "steel": bool(takeoff.bones) or takeoff.front.kind == "busk",
        "reduction": (reduction_mm or 0) > LARGE_REDUCTION_MM,
    }
    rows = json.loads(_CAUTIONS.read_text(encoding="utf-8"))[audience]
    return [row for row in rows if applies[row["when"]]]


def _count(number: int, thing: str) -> str:
    words = {1: "one", 2: "two", 3: "three", 4: "four"}
    return f"{words.get(number, str(number))} {thing}{'' if number == 1 else 's'}"
