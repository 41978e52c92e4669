"""Drawings, read back as XML: what lies where, against sizes worked by hand."""

import re
from dataclasses import replace
from xml.etree import ElementTree

from shapely import MultiPoint
from shapely.geometry.base import BaseGeometry
from support_patterns import trapezoid_pattern

from inventory.ground.units import LengthUnit
from quotes.construction.shipped import shipped
from quotes.drawings.half import half_drawing
from quotes.drawings.lay import lay_drawing
from quotes.lay.budget import Budget
from quotes.lay.given_cloth import lay_on_given_cloth
from quotes.lay.lay_plan import Effort, LayPiece, LayProblem, Remnant
from quotes.lay.nest import lay
from quotes.pattern.panels import EdgeName, Notch
from quotes.takeoff.cut_pieces import cut_pieces_of

TWO = shipped("two-layer")
PATTERN = trapezoid_pattern((60, 60), (60, 60))


def shapes(markup: str, classes: str) -> list[ElementTree.Element]:
    return [element for element in ElementTree.fromstring(markup).iter() if element.get("class") == classes]


def words(markup: str, classes: str) -> list[str | None]:
    return [element.text for element in shapes(markup, classes)]


def test_a_lay_is_drawn_with_the_warp_running_up():
    """Two squares of 100 mm on a cloth 250 mm wide lie side by side with 2 mm between: the lay is 100 mm long."""
    square = LayPiece(label="1 outer", outline=((0, 0), (100, 0), (100, 100), (0, 100)), copies=2)
    plan = lay(LayProblem(width=250.0, pieces=(square,), spacing=2.0), Effort.NONE)
    markup = lay_drawing(plan, marked={}, unit=LengthUnit.MM)
    assert [shape.get("d") for shape in shapes(markup, "selvedge-line")] == [
        "M0.00 -0.00L0.00 -100.00",
        "M250.00 -0.00L250.00 -100.00",
    ]
    assert [shape.get("d") for shape in shapes(markup, "cloth-end")] == [
        "M0.00 -0.00L250.00 -0.00",
        "M0.00 -100.00L250.00 -100.00",
    ]
    assert len(shapes(markup, "lay-cut-line")) == 2
    assert words(markup, "lay-label") == ["1 outer", "1 outer"]
    assert words(markup, "lay-measure") == ["250 mm", "100 mm"]


def test_a_half_without_a_construction_shows_the_stitching_line_only():
    markup = half_drawing(PATTERN, unit=LengthUnit.MM)
    assert len(shapes(markup, "stitching-line")) == 2
    assert not shapes(markup, "cut-line")
    assert not shapes(markup, "channel-line")
    assert not shapes(markup, "grommet-ring")
    assert words(markup, "place") == ["centre front", "centre back"]


def test_a_half_with_a_construction_shows_cut_lines_channels_and_grommets():
    markup = half_drawing(PATTERN, unit=LengthUnit.MM, construction=TWO)
    assert len(shapes(markup, "cut-line")) == 2
    # One at the seam between the panels, two at centre back.
    assert len(shapes(markup, "channel-line")) == 3
    down_the_middle = replace(TWO, channels=replace(TWO.channels, mid_panel=(1,)))
    assert len(shapes(half_drawing(PATTERN, unit=LengthUnit.MM, construction=down_the_middle), "channel-line")) == 4
    assert shapes(markup, "grommet-ring")


def test_a_channel_down_the_middle_of_a_rectangle_stands_half_way():
    """Panel 1 is 60 mm wide from x = 0, so the line stands at 30; levels every 12 mm leave out both ends."""
    down_the_middle = replace(TWO, channels=replace(TWO.channels, mid_panel=(1,)))
    before = {
        shape.get("d") for shape in shapes(half_drawing(PATTERN, unit=LengthUnit.MM, construction=TWO), "channel-line")
    }
    after = shapes(half_drawing(PATTERN, unit=LengthUnit.MM, construction=down_the_middle), "channel-line")
    (new,) = [shape.get("d") or "" for shape in after if shape.get("d") not in before]
    points = [tuple(map(float, point.split())) for point in new.strip("M").split("L")]
    assert {x for x, _ in points} == {30.0}
    assert (points[0][1], points[-1][1]) == (108.0, -108.0)


def test_a_notch_is_a_short_stroke_across_its_edge():
    """7 mm across, at 40 mm up the front edge; the waist lies at 120 mm, and y runs downwards."""
    first, second = PATTERN.panels
    notched = replace(PATTERN, panels=(replace(first, notches=(Notch(edge=EdgeName.FRONT, along_mm=40.0),)), second))
    (tick,) = shapes(half_drawing(notched, unit=LengthUnit.MM), "notch-tick")
    assert tick.get("d") == "M3.50 80.00L-3.50 80.00"


def test_a_lay_shows_what_is_marked_on_each_piece():
    """Stitching line, waist, grain and notches lie inside the cut line of their piece, in the picture too."""
    pieces = cut_pieces_of(PATTERN, TWO)
    label, piece = next(iter(pieces.items()))
    plan = lay(LayProblem(width=250.0, pieces=(LayPiece(label=label, outline=piece.outline),)), Effort.NONE)
    markup = lay_drawing(plan, marked=pieces, unit=LengthUnit.MM)
    (cut,) = shapes(markup, "lay-cut-line")
    for mark in ("lay-stitching-line", "lay-waist-line", "lay-grain-line"):
        assert all(polygon_of(cut).covers(polygon_of(shape)) for shape in shapes(markup, mark)), mark
        assert shapes(markup, mark), mark
    assert words(markup, "lay-label") == [label]


def polygon_of(shape: ElementTree.Element) -> BaseGeometry:
    """What the points of a path enclose."""
    numbers = [float(number) for number in re.findall(r"-?\d+\.\d+", shape.get("d", ""))]
    return MultiPoint(list(zip(numbers[::2], numbers[1::2], strict=True))).convex_hull


def test_a_lay_of_several_shows_whose_each_piece_is_its_flaws_and_its_remnants():
    """A square on a roll with a flaw before it, another on a remnant of 120 by 150 to the right of the roll."""
    square = LayPiece(label="Q1 1A", outline=((0, 0), (100, 0), (100, 100), (0, 100)), copies=1)
    other = LayPiece(label="Q2 1A", outline=square.outline)
    problem = LayProblem(
        width=100.0,
        pieces=(square, other),
        flaws=((0.0, 0.0, 20.0, 50.0),),
        remnants=(Remnant(width=120.0, length=150.0),),
    )
    plan = lay_on_given_cloth(
        problem, Effort.NONE, plain=lambda alone, _: lay(alone, Effort.NONE), budget=Budget(seconds=0.0), seed=20
    )
    markup = lay_drawing(plan, marked={}, unit=LengthUnit.MM, problem=problem, remnants=("Lot 7",))
    assert sorted(filter(None, words(markup, "lay-label"))) == ["1A", "1A", "Q1", "Q2"]
    assert "Lot 7, 120 mm" in words(markup, "lay-measure")
    assert len(shapes(markup, "selvedge-line")) == 4
    assert len(shapes(markup, "lay-flaw")) == 3
