"""Nested sizes are told apart as a maker tells them; sizes and their lines are invented here, so known. Common practice, no source."""

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from inventory.ground.findings import Refused
from quotes.pattern.geometry import Polyline, ring_area_mm2
from quotes.pattern.sheet import Label, Sheet, Stroke
from quotes.pattern.taking.sheet_sizes import of_size, sizes_of

PATTERNS = Path(__file__).parents[4] / "fixtures" / "patterns"
NAMES = ("8", "10", "12")
Dress = Callable[[str, int], dict[str, object]]


def rings() -> list[Polyline]:
    """The six panels of the underbust, side by side."""
    placed, x = [], 0.0
    for panel in json.loads((PATTERNS / "underbust.json").read_text())["panels"]:
        ring = [*panel["bottom"], *panel["back"][1:-1], *panel["top"][::-1], *panel["front"][-2:0:-1]]
        left = min(px for px, _ in ring)
        placed.append(tuple((px - left + x, py) for px, py in ring))
        x += max(px for px, _ in ring) - left + 60
    return placed


def graded(ring: Polyline, step: int) -> Polyline:
    """Wider by 6 % a step about its middle, and a little longer."""
    middle = (min(x for x, _ in ring) + max(x for x, _ in ring)) / 2
    return tuple((middle + (x - middle) * (1 + 0.06 * step), y * (1 + 0.01 * step)) for x, y in ring)


def nested(dress: Dress, names: tuple[str, ...] = NAMES) -> Sheet:
    """All panels in each size, dressed by name and panel; a waist line a panel and the panels' numbers belong to all."""
    strokes, labels = [], []
    for number, ring in enumerate(rings(), start=1):
        for step, name in enumerate(names):
            strokes.append(
                Stroke(line=graded(ring, step), is_closed=True, where="drawing", **dress(name, number))  # type: ignore[arg-type]
            )
        left, right = min(x for x, _ in ring), max(x for x, _ in ring)
        strokes.append(Stroke(line=((left, 0.0), (right, 0.0)), is_closed=False, where="waist"))
        labels.append(Label(text=str(number), at=((left + right) / 2, 20.0), where="text", height=8.0))
    return Sheet(strokes=tuple(strokes), labels=tuple(labels))


COLOURS = {"8": "#ff0000", "10": "#00aa00", "12": "#0000ff"}
DASHES: dict[str, tuple[float, ...]] = {"8": (), "10": (4.0, 2.0), "12": (6.0, 2.0, 1.0, 2.0)}


def by_colour(name: str, _: int) -> dict[str, object]:
    return {"colour": COLOURS[name]}


def by_dash(name: str, _: int) -> dict[str, object]:
    return {"dash": DASHES[name]}


def legend(sheet: Sheet, dress: Dress, word: str) -> Sheet:
    """Samples under each other below the drawing, each with its word to the right."""
    strokes, labels = list(sheet.strokes), list(sheet.labels)
    for row, name in enumerate(NAMES):
        y = -300.0 - 15 * row
        strokes.append(Stroke(line=((0.0, y), (40.0, y)), is_closed=False, where="legend", **dress(name, 0)))  # type: ignore[arg-type]
        labels.append(Label(text=f"{word}{name}", at=(58.0, y), where="text", height=6.0))
    return replace(sheet, strokes=tuple(strokes), labels=tuple(labels))


def along(sheet: Sheet) -> Sheet:
    """A word on the lower corner of each size of the first panel."""
    words = []
    for name, stroke in zip(NAMES, sheet.strokes, strict=False):
        x, y = stroke.line[0]
        words.append(Label(text=f"Size {name}", at=(x - 0.5, y - 0.3), where="text", height=3.0))
    return replace(sheet, labels=sheet.labels + tuple(words))


def plain(_: str, __: int) -> dict[str, object]:
    return {}


DRAWINGS = {
    "a layer a size": lambda: nested(lambda name, _: {"layers": (f"Size {name}",)}),
    "a layer a size, bare": lambda: nested(lambda name, _: {"layers": (name,)}),
    "a group a panel, size in its name": lambda: nested(
        lambda name, number: {"layers": (f"panel {number} Gr. {name}",)}
    ),
    "colours with a legend": lambda: legend(nested(by_colour), by_colour, "Size "),
    "dashes with a bare legend": lambda: legend(nested(by_dash), by_dash, ""),
    "words along the lines": lambda: along(nested(by_colour)),
    "one style, words alone": lambda: along(nested(plain)),
}


def areas(sheet: Sheet) -> list[float]:
    return [ring_area_mm2(stroke.line) for stroke in sheet.strokes if stroke.is_closed]


@pytest.mark.parametrize("name", DRAWINGS)
def test_the_sizes_are_named_and_one_is_taken_whole(name: str) -> None:
    sheet = DRAWINGS[name]()
    assert sizes_of(sheet) == NAMES
    for step, size in enumerate(NAMES):
        for said in (size, f"size {size}"):
            chosen = of_size(sheet, said)
            assert areas(chosen) == pytest.approx([ring_area_mm2(graded(ring, step)) for ring in rings()])
            assert [stroke.where for stroke in chosen.strokes].count("waist") == 6
            assert [label.text for label in chosen.labels] == [str(number) for number in range(1, 7)]
            assert not re.search(
                rf"\b{size}\b", " ".join(layer for stroke in chosen.strokes for layer in stroke.layers)
            )


def test_letters_are_sizes_smallest_first() -> None:
    sheet = nested(lambda name, _: {"layers": (f"size {name}",)}, ("XS", "M", "3XL"))
    assert sizes_of(sheet) == ("XS", "M", "3XL")
    assert len(areas(of_size(sheet, "m"))) == 6


def _layer_a_panel() -> Sheet:
    return Sheet(
        strokes=tuple(
            Stroke(line=ring, is_closed=True, where="drawing", layers=(str(number),))
            for number, ring in enumerate(rings(), start=1)
        )
    )


def _cut_round_stitching() -> Sheet:
    from shapely import Polygon

    strokes = []
    for ring in rings():
        around = tuple(Polygon(ring).buffer(10, join_style="mitre").exterior.coords[:-1])
        strokes.append(Stroke(line=ring, is_closed=True, where="drawing", dash=(4.0, 2.0)))
        strokes.append(Stroke(line=around, is_closed=True, where="drawing"))
    return Sheet(strokes=tuple(strokes))


def _panels_in_colours() -> Sheet:
    return Sheet(
        strokes=tuple(
            Stroke(line=ring, is_closed=True, where="drawing", colour=f"#0000{number:02x}")
            for number, ring in enumerate(rings())
        ),
        labels=(Label(text="Size 38, six panels", at=(0.0, 400.0), where="text", height=8.0),),
    )


@pytest.mark.parametrize("sheet", [_layer_a_panel(), _cut_round_stitching(), _panels_in_colours(), Sheet(strokes=())])
def test_one_size_is_left_as_it_is(sheet: Sheet) -> None:
    assert sizes_of(sheet) == ()
    assert of_size(sheet, "") is sheet
    with pytest.raises(Refused) as refusal:
        of_size(sheet, "38")
    assert refusal.value.findings[0].code == "pattern.no-sizes"


@pytest.mark.parametrize(("said", "code"), [("", "pattern.several-sizes"), ("14", "pattern.unknown-size")])
def test_a_size_must_be_said_and_be_there(said: str, code: str) -> None:
    with pytest.raises(Refused) as refusal:
        of_size(nested(lambda name, _: {"layers": (f"Size {name}",)}), said)
    (found,) = refusal.value.findings
    assert found.code == code
    assert "8, 10, 12" in found.message
    assert "--size 8" in found.hint
