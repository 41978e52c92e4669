"""A strip-packing problem from a file: the JSON form in which the field publishes its instances (fixtures/nesting)."""

from collections.abc import Mapping
from typing import Any

from shapely import Polygon, is_valid_reason

from inventory.ground.findings import Finding, Refused, stop
from inventory.ground.reading import data_beside
from inventory.ground.schema import schema_findings
from quotes.lay.lay_plan import Box, LayPiece, LayProblem, Remnant, Repeat
from quotes.pattern.geometry import Polyline

__all__ = ["MOST_COPIES", "is_strip_packing", "read_strip_packing"]

MOST_COPIES = 2000
"""More pieces than this are no lay but a slip."""


def is_strip_packing(document: object) -> bool:
    """Tell whether a JSON document is meant as a strip-packing problem, well-formed or not, and not as a pattern."""
    return (
        isinstance(document, Mapping)
        and "panels" not in document
        and ("items" in document or "strip_height" in document)
    )


def read_strip_packing(document: object) -> LayProblem:
    """Return the problem in a document, in its own unit; labels are the items' ids.

    Raises:
        Refused: every fault that could be found, each with its path inside the file.
    """
    faults = list(schema_findings(document, data_beside(__file__, "strip_packing.schema.json"), code="lay"))
    if faults:
        raise Refused(faults)
    assert isinstance(document, Mapping)
    items, width = document["items"], float(document["strip_height"])
    seen: set[int] = set()
    for index, item in enumerate(items):
        if int(item["id"]) in seen:
            faults.append(
                stop(
                    "lay.id-twice",
                    f"items[{index}].id",
                    f"The id {item['id']} is there twice.",
                    "Number each item anew.",
                )
            )
        seen.add(int(item["id"]))
        faults += _outline_faults(_ring(item["shape"]["data"]), f"items[{index}].shape.data")
    copies = sum(int(item["demand"]) for item in items)
    if copies > MOST_COPIES:
        faults.append(
            stop(
                "lay.too-many",
                "items",
                f"The file asks for {copies} pieces; a lay holds {MOST_COPIES} at most.",
                "Part it into several lays.",
            )
        )
    faults += _flaw_faults(document.get("flaws", []), width)
    if faults:
        raise Refused(faults)
    return LayProblem(
        width=width,
        spacing=0.0,
        row_gap=0.0,
        pieces=tuple(_piece(item) for item in items),
        repeat=_repeat(document.get("repeat")),
        flaws=tuple(_box(flaw) for flaw in document.get("flaws", [])),
        remnants=tuple(
            Remnant(width=float(row["width"]), length=float(row["length"]), worth=float(row.get("worth", 0.0)))
            for row in document.get("remnants", [])
        ),
    )


def _piece(item: Mapping[str, Any]) -> LayPiece:
    return LayPiece(
        label=str(int(item["id"])),
        outline=_ring(item["shape"]["data"]),
        copies=int(item["demand"]),
        rotations=tuple(float(turn) for turn in item["allowed_orientations"]),
    )


def _ring(corners: list[list[float]]) -> Polyline:
    """The corners without the first one repeated at the end."""
    ring = tuple((float(x), float(y)) for x, y in corners)
    return ring[:-1] if ring[0] == ring[-1] else ring


def _outline_faults(ring: Polyline, place: str) -> list[Finding]:
    if len(set(ring)) < 3:
        return [
            stop("lay.outline", place, "The outline has fewer than three corners.", "Give each corner of the shape.")
        ]
    shape = Polygon(ring)
    if not shape.is_valid:
        return [
            stop(
                "lay.outline",
                place,
                f"The outline is no simple closed shape: {_reason(is_valid_reason(shape))}.",
                "Draw it anew so that it neither crosses nor touches itself.",
            )
        ]
    if shape.area <= 0:
        return [stop("lay.outline", place, "The outline encloses nothing.", "Give each corner of the shape.")]
    return []


def _reason(told: str) -> str:
    """The geometry library's reason, such as "Self-intersection[1 1]", in words."""
    words, _, spot = told.partition("[")
    where = ", ".join(f"{float(number):g}" for number in spot.rstrip("]").split()[:2])
    return f"{words.lower()} at ({where})" if where else words.lower()


def _flaw_faults(flaws: list[list[float]], width: float) -> list[Finding]:
    faults = []
    for index, (x0, y0, x1, y1) in enumerate(flaws):
        place = f"flaws[{index}]"
        if x0 == x1 or y0 == y1:
            faults.append(
                stop("lay.flaw", place, "The flaw has no size.", "Give two opposite corners: x0, y0, x1, y1.")
            )
        elif max(x0, x1) <= 0 or min(y0, y1) >= width or max(y0, y1) <= 0:
            faults.append(
                stop(
                    "lay.flaw",
                    place,
                    f"The flaw lies outside the cloth, which begins at 0 and is {width:g} wide.",
                    "Measure x along the cloth from its end, y across it from one selvedge.",
                )
            )
    return faults


def _box(corners: list[float]) -> Box:
    x0, y0, x1, y1 = map(float, corners)
    return min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)


def _repeat(said: Mapping[str, float] | None) -> Repeat | None:
    if said is None:
        return None
    return Repeat(along=float(said.get("along", 0.0)), across=float(said.get("across", 0.0)))
