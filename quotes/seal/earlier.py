"""Snapshots of earlier versions, brought to the form of the next: one function a version, which never changes again.

Version 1 (until 2026-11) kept facts inside words: the material of a cost line stood in the takeoff's line of its code,
the place of a bone, the option of a finding and the lay of a drawing in their names.
Version 2 (until 2026-11) did not say how the offer is put: its language, its paper, what materials are called.
Version 3 (until 2026-11) had a quote's number and its revision as one text.
"""

import json
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from inventory.ground.codec import Document

__all__ = ["from_version_1", "from_version_2", "from_version_3"]

_OPTIONAL_RATES: dict[str, Any] = {
    "minimum_per_hour": None,
    "discount_share": "0",
    "rush_share": "0",
    "price_step": None,
    "rounding": "half-up",
}


def from_version_1(document: Document) -> Document:
    """Return a snapshot of version 1 in the form of version 2."""
    quotation = document["quotation"]
    names = [option["name"] for option in quotation["options"]]
    return {
        **document,
        "rates": {**_OPTIONAL_RATES, **document["rates"]},
        "quotation": {
            **quotation,
            "options": [_option(option) for option in quotation["options"]],
            "findings": [_finding(found, names) for found in quotation["findings"]],
        },
        "drawings": _drawings(document["drawings"], quotation["options"]),
        "reduction_mm": document["pattern"].get("reduction"),
    }


def from_version_2(document: Document) -> Document:
    """Return a snapshot of version 2 in the form of version 3."""
    return {**document, "offer": None}


def from_version_3(document: Document) -> Document:
    """Return a snapshot of version 3 in the form of version 4."""
    head = document["letterhead"]
    number, _, revision = head["number"].partition(", revision ")
    letterhead = {**head, "number": int(number) if number else None, "revision": int(revision) if revision else None}
    return {**document, "letterhead": letterhead}


def _option(option: Document) -> Document:
    takeoff = option["takeoff"]
    lines = [_line(line, takeoff) for line in takeoff["lines"]]
    by_code = {line["code"]: line for line in lines}
    labour = takeoff["labour"]
    operations = [
        {**operation, "role": _facts()["roles"].get(operation["code"], "")} for operation in labour["operations"]
    ]
    return {
        **option,
        "takeoff": {
            **takeoff,
            "lines": lines,
            "bones": [{**run, **_place(run["where"])} for run in takeoff["bones"]],
            "labour": {**labour, "operations": operations},
        },
        "lines": [
            {**line, **_of_takeoff(by_code.get(line["code"]))} if line["group"] == "material" else line
            for line in option["lines"]
        ],
    }


def _line(line: Document, takeoff: Document) -> dict[str, Any]:
    kind, _, rest = line["code"].partition(".")
    roles = rest.split("+") if kind == "cloth" else []
    outermost = takeoff["cloths"][0]["role"] if takeoff["cloths"] else None
    needed = _facts()["lines"][kind]
    size = float(rest) if kind == "flat" else takeoff["front"]["length_mm"] if kind in ("busk", "zip") else 0.0
    is_visible = needed["is_visible"] or (kind == "cloth" and outermost in roles)
    return {**line, "needed": {"family": kind, **needed, "is_visible": is_visible}, "roles": roles, "size_mm": size}


def _of_takeoff(line: Mapping[str, Any] | None) -> dict[str, Any]:
    if line is None:
        return {}
    return {key: line[key] for key in ("material", "reason", "overruled", "overrule_reason") if key in line}


def _place(where: str) -> dict[str, Any]:
    words = where.removesuffix(" left").removesuffix(" right")
    for place in ("seam", "mid-panel"):
        if words.startswith(f"{place} "):
            return {"place": place, "number": int(words.rpartition(" ")[2])}
    return {"place": "centre-back" if words == "centre back" else "beside-front", "number": 0}


def _finding(found: Document, names: Sequence[str]) -> Document:
    where = found["where"]
    option = max((name for name in names if where.startswith(f"{name}: ")), key=len, default="")
    return {**found, "option": option, "place": where.removeprefix(f"{option}: ") if option else where}


def _drawings(drawings: Mapping[str, str], options: Sequence[Document]) -> Document:
    lays = [
        {"option": option["name"], "role": cloth["role"], "svg": drawings[key]}
        for option in options
        for cloth in option["takeoff"]["cloths"]
        if (key := f"lay {option['name']} {cloth['role']}") in drawings
    ]
    return {"half": drawings.get("half", ""), "lays": lays}


@cache
def _facts() -> dict[str, Any]:
    """What version 1 left to the code of its day: per line when it is needed, per operation its role."""
    facts: dict[str, Any] = json.loads(Path(__file__).with_name("version_1.json").read_text(encoding="utf-8"))
    return facts
