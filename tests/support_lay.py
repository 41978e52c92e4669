"""Lays for the tests: small strip-packing files, and what any lay must hold, looked at with plain geometry."""

import json
from collections import Counter
from itertools import combinations
from pathlib import Path
from typing import Any

from shapely import Polygon

__all__ = ["NESTING", "SQUARE", "item", "must_be_true", "strip_file"]

NESTING = Path(__file__).parents[1] / "fixtures" / "nesting"
SQUARE = [[0, 0], [10, 0], [10, 10], [0, 10], [0, 0]]


def item(data: list[list[float]] = SQUARE, **said: Any) -> dict[str, Any]:
    """One item of a strip-packing file, two copies that are not turned unless `said` otherwise."""
    shape = {"type": "simple_polygon", "data": data}
    return {"id": 0, "demand": 2, "allowed_orientations": [0], "shape": shape, **said}


def strip_file(folder: Path, *items: dict[str, Any], **said: Any) -> Path:
    """A strip-packing file on a strip of 30."""
    path = folder / "problem.json"
    path.write_text(json.dumps({"name": "problem", "strip_height": 30, "items": list(items) or [item()], **said}))
    return path


def must_be_true(document: dict[str, Any], *, width: float, counts: Counter[Any] | None = None, hair: float) -> None:
    """Assert that a printed lay's pieces are inside, apart and all there; `hair` is a length that is nothing."""
    shapes = [Polygon(row["outline"]) for row in document["placements"]]
    cloths = [row["cloth"] for row in document["placements"]]
    for shape, cloth in zip(shapes, cloths, strict=True):
        left, low, right, high = shape.bounds
        assert min(left, low) >= -hair
        if cloth == "roll":
            assert high <= width + hair
            assert right <= document["length"] + hair
    for (one, its), (other, others) in combinations(zip(shapes, cloths, strict=True), 2):
        if its == others and one.intersects(other):
            assert one.intersection(other).area <= hair * max(one.length, other.length)
    if counts is not None:
        assert Counter(row["piece"] for row in document["placements"]) == counts
