"""The garment worn, against closed forms and a library's elliptic integrals.

Sources: perimeter of an ellipse by Ramanujan's second approximation (Ramanujan 1914; its error for b ÷ a = 0.75 is below
1e-12 of it) and by `scipy.special.ellipe`; widths of girths are worked here by hand.
"""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe, ellipeinc
from support_patterns import block_a, block_b, taken_off

from quotes.construction.construction import FrontKind
from quotes.defaults import desk_defaults
from quotes.drawings.ellipse import angle_at, half_width_mm
from quotes.drawings.garment import Look, Looks, garment_drawings
from quotes.drawings.worn import worn_garment
from quotes.pattern.panels import Panel, Pattern
from quotes.seal.worn import WornGarment, WornView
from quotes.takeoff.takeoff import FrontNeed, Takeoff

RATIO = desk_defaults().worn.depth_share


def tube(widths: tuple[float, ...], *, height: float = 300.0, gap: float = 50.0) -> Takeoff:
    """The takeoff of a tube: rectangles of these widths in each half."""
    panels = tuple(
        Panel(
            number=number,
            front=((0.0, 0.0), (0.0, height)),
            back=((width, 0.0), (width, height)),
            top=((0.0, height), (width, height)),
            bottom=((0.0, 0.0), (width, 0.0)),
            waist_mm=height / 2,
        )
        for number, width in enumerate(widths, start=1)
    )
    return with_pattern(Pattern(name="Tube", panels=panels), gap=gap)


def with_pattern(pattern: Pattern, *, gap: float = 50.0) -> Takeoff:
    return replace(taken_off(block_a()), pattern=pattern, worn_waist_mm=pattern.closed_waist_mm + gap)


def points(view: WornView) -> np.ndarray:
    return np.array([point for panel in view.panels for ring in panel.rings for point in ring])


def crossed_mm(view: WornView, height: float) -> float:
    """How much of a level the panels of a view cover."""
    line = shapely.LineString([(-1e4, height), (1e4, height)])
    areas = [shapely.make_valid(shapely.Polygon(ring)) for panel in view.panels for ring in panel.rings]
    return sum(line.intersection(area).length for area in areas)


def both_ways(view: WornView) -> tuple[set[object], set[object]]:
    rings = {(panel.number, frozenset(ring)) for panel in view.panels for ring in panel.rings}
    mirrored = {(number, frozenset((-x + 0.0, y) for x, y in ring)) for number, ring in rings}
    return rings, mirrored


@pytest.mark.parametrize("ratio", [0.6, 0.75, 0.9, 1.0])
def test_an_ellipse_has_the_girth_of_the_handbook(ratio: float):
    half = float(half_width_mm(np.array([700.0]), ratio)[0])
    h = ((1 - ratio) / (1 + ratio)) ** 2
    ramanujan = math.pi * half * (1 + ratio) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert ramanujan == pytest.approx(700.0, abs=1e-3)
    assert 4 * half * ellipe(1 - ratio**2) == pytest.approx(700.0, abs=1e-9)


@given(st.floats(0, 2 * math.pi), st.floats(0.5, 1.0))
def test_an_angle_is_found_from_the_length_to_it(angle: float, ratio: float):
    share = ellipeinc(angle, 1 - ratio**2) / (4 * ellipe(1 - ratio**2))
    assert float(angle_at(np.array([share]), ratio)[0]) == pytest.approx(angle, abs=1e-5)


def test_a_tube_stands_upright_and_a_quarter_of_its_girth_is_seen_to_each_side():
    """Two panels of 150 mm and one of 60 mm a half, and a gap of 80 mm: a girth of 800 mm at every height."""
    made = worn_garment(tube((150.0, 150.0, 60.0), gap=80.0), option="Tube")
    half = 800 / (4 * ellipe(1 - RATIO**2))
    for view in (made.front, made.back):
        assert {x for x, _ in view.silhouette} == {round(half, 1)}
        assert {y for _, y in view.edges[0]} <= {150.0, -150.0}
        assert np.abs(points(view)[:, 0]).max() == pytest.approx(half, abs=0.06)
    assert {panel.number for panel in made.front.panels} == {1, 2}
    assert {panel.number for panel in made.back.panels} == {2, 3}


@pytest.mark.parametrize("block", [block_a(), block_b()])
@pytest.mark.parametrize("height", [-80.0, 0.0, 60.0])
def test_panels_fill_the_front_and_leave_the_gap_behind(block: object, height: float):
    taken = taken_off(block)  # type: ignore[arg-type]
    made = worn_garment(taken, option="")
    levels = [y for _, y in made.front.silhouette]
    half = float(np.interp(height, levels, [x for x, _ in made.front.silhouette]))
    # What is seen edge-on may round to nothing.
    assert crossed_mm(made.front, height) == pytest.approx(2 * half, abs=1.2)
    # Behind, the gap lies nearly flat: a chord a little shorter than itself is open.
    gap = taken.worn_waist_mm - taken.pattern.closed_waist_mm
    assert 2 * half - crossed_mm(made.back, height) == pytest.approx(gap, rel=0.02, abs=1.2)


def test_the_waist_is_as_wide_as_an_ellipse_of_its_girth():
    """Corners of a drafted block bend within a few millimetres; away from them the girth is the pattern's own."""
    taken = tube((100.0, 120.0, 110.0))
    made = worn_garment(taken, option="")
    half = float(np.interp(0.0, [y for _, y in made.front.silhouette], [x for x, _ in made.front.silhouette]))
    assert 4 * half * ellipe(1 - RATIO**2) == pytest.approx(taken.worn_waist_mm, abs=0.3)


def test_halves_alike_are_seen_as_mirror_images():
    made = worn_garment(taken_off(block_b()), option="")
    for view in (made.front, made.back):
        rings, mirrored = both_ways(view)
        assert rings == mirrored


def test_the_wearers_left_is_on_the_right_of_the_front_and_on_the_left_of_the_back():
    """The wearer's left half is the wider one; what is seen of it from the front goes further over the middle seam."""
    taken = tube((60.0, 120.0, 120.0))
    wide = tuple(tube((100.0, 120.0, 80.0)).pattern.panels)
    made = worn_garment(with_pattern(replace(taken.pattern, panels=wide, right_panels=taken.pattern.panels)), option="")
    seams = sorted(line[0][0] for line in made.front.seams)
    assert seams[-1] > 85
    assert -62 < seams[0] < -50 or seams[0] < -100
    assert min(abs(x) for x in seams if x < 0) < min(x for x in seams if x > 0)
    assert made.back.grommets[0][0][0] < 0 < made.back.grommets[1][0][0]


def test_each_panel_wears_the_outermost_cloth_that_it_is_cut_of():
    taken = taken_off(block_a())
    outer = taken.construction.layers[0]
    over = replace(outer, role="overlay", panels=(2, 3))
    cloths = (*taken.cloths, replace(taken.cloths[0], role="overlay", material="lace"))
    layered = replace(
        taken, cloths=cloths, construction=replace(taken.construction, layers=(over, *taken.construction.layers))
    )
    made = worn_garment(layered, option="")
    plain = next(cloth.material for cloth in taken.cloths if cloth.role == outer.role)
    for panel in (*made.front.panels, *made.back.panels):
        assert panel.cloth == ("lace" if panel.number in (2, 3) else plain)


WHITE = Look(tone="#ffffff")


def cloths_of(garment: WornGarment) -> list[str]:
    return [panel.cloth for view in (garment.front, garment.back) for panel in view.panels]


side = st.floats(-40, 40)


@st.composite
def patterns(draw: st.DrawFn) -> Pattern:
    """Panels whose edges go anywhere within reach of each other, as no garment has them."""
    panels = []
    for number in range(1, draw(st.integers(2, 6)) + 1):
        heights = sorted(draw(st.lists(st.floats(1, 299), min_size=1, max_size=4, unique=True)))
        front, back = (
            tuple((draw(side) + base, y) for y in (draw(st.floats(-30, 0)), *heights, draw(st.floats(300, 340))))
            for base in (0.0, draw(st.floats(85, 150)))
        )
        panels.append(
            Panel(
                number=number,
                front=front,
                back=back,
                top=(front[-1], back[-1]),
                bottom=(front[0], back[0]),
                waist_mm=draw(st.floats(80, 220)),
            )
        )
    return Pattern(name="", panels=tuple(panels))


@settings(max_examples=40, deadline=None)
@given(patterns(), st.floats(0, 150))
def test_whatever_the_panels_every_point_is_a_place_in_the_picture(pattern: Pattern, gap: float):
    made: WornGarment = worn_garment(with_pattern(pattern, gap=gap), option="")
    for view in (made.front, made.back):
        assert np.isfinite(points(view)).all()
        widest = max(x for x, _ in view.silhouette)
        assert np.abs(points(view)[:, 0]).max() <= widest + 0.1
        for line in (*view.seams, *view.channels, *view.edges, *view.closing, *view.grommets):
            assert all(math.isfinite(x) and abs(x) <= widest + 0.1 and math.isfinite(y) for x, y in line)
    looks = Looks(cloths=dict.fromkeys(cloths_of(made), WHITE), binding=WHITE, cord=WHITE)
    front = FrontNeed(kind=FrontKind.BUSK, length_mm=250.0, loops=5)
    for markup in garment_drawings(made, front, looks, titles=("", ""), about="", key="a"):
        assert "nan" not in markup
        assert "inf" not in markup
