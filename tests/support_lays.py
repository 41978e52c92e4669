"""Open strip-packing problems, read as lay problems; outlines of any simple shape."""

import json
import math
from pathlib import Path

from hypothesis import strategies as st

from quotes.lay.lay_plan import LayPiece, LayProblem
from quotes.pattern.geometry import Polyline

BEST_PUBLISHED = {"albano": 0.89821, "dagli": 0.90172, "shapes0": 0.69978, "shirts": 0.90920}
"""Shares filled: Gardeyn, Vanden Berghe and Wauters, arXiv 2509.13329 (2025), Table 3; twenty minutes each."""


def open_instance(path: Path) -> LayProblem:
    """A problem in the form that fixtures/nesting/README.md describes; nothing is kept between its pieces."""
    data = json.loads(path.read_text())
    return LayProblem(
        width=data["strip_height"],
        spacing=0.0,
        pieces=tuple(
            LayPiece(
                label=str(item["id"]),
                outline=tuple((x, y) for x, y in item["shape"]["data"][:-1]),
                copies=item["demand"],
                rotations=tuple(map(float, item["allowed_orientations"])),
            )
            for item in data["items"]
        ),
    )


@st.composite
def simple_outlines(draw: st.DrawFn) -> Polyline:
    """A ring around its middle that crosses itself nowhere and has hollows: corners by angle, near and far, mm."""
    reaches = draw(st.lists(st.integers(20, 100), min_size=3, max_size=14))
    turn = 2 * math.pi / len(reaches)
    return tuple(
        (round(110 + reach * math.cos(place * turn), 3), round(110 + reach * math.sin(place * turn), 3))
        for place, reach in enumerate(reaches)
    )
