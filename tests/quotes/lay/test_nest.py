"""Lays: every one is true, never worse than rows, never better than the best that is known."""

import dataclasses
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint, Polygon
from support_lays import BEST_PUBLISHED, open_instance
from support_patterns import block_a, block_b

from inventory.ground.findings import Refused
from quotes.construction.construction import Choices
from quotes.construction.shipped import shipped
from quotes.lay.bounds import above_bound_share
from quotes.lay.check import lay_faults
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem, Placement, Repeat
from quotes.lay.laying import lay_all
from quotes.lay.nest import cpu_seconds, lay, problem_key
from quotes.lay.rows import row_lay
from quotes.pattern.block import draw_block
from quotes.pattern.geometry import Polyline
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.take_off import lay_problems

NESTING = Path(__file__).parents[3] / "fixtures" / "nesting"


@pytest.mark.parametrize(
    ("name", "copies", "area"),
    [("shapes0", 43, 1596), ("shirts", 99, 2160), ("albano", 24, 42_656_785), ("dagli", 30, 3034.5)],
)
def test_geo_32_and_33_open_instances(name: str, copies: int, area: float):
    """ESICUP benchmark set; best known: Gardeyn et al., arXiv 2509.13329, Table 3. More than the best is an overlap."""
    problem = open_instance(NESTING / f"{name}.json")
    assert sum(piece.copies for piece in problem.pieces) == copies
    assert sum(Polygon(piece.outline).area * piece.copies for piece in problem.pieces) == pytest.approx(area)
    plan = lay(problem, Effort.QUICK)
    assert not lay_faults(problem, plan)
    assert 0.55 < plan.density_share <= BEST_PUBLISHED[name]
    assert plan.length >= plan.lower_bound


@pytest.mark.parametrize(("block", "one", "two"), [(block_a(), 0.57, 0.86), (block_b(), 0.74, 1.09)])
def test_row_lay_of_boxes_by_hand(block, one: float, two: float):
    """Boxes of the worked examples (widths and allowances times 1.10, 5 mm apart) in rows on 1340 mm (common practice)."""
    boxes_a = [(99, 300), (98, 283), (96, 267), (96, 263), (97, 277), (136, 290)]
    boxes_b = [(95, 400), (95, 380), (93, 360), (91, 340), (92, 339), (93, 339), (132, 339)]
    boxes = boxes_a if block.panels_per_half == 6 else boxes_b

    def length(layers: int) -> float:
        pieces = tuple(
            LayPiece(
                label=str(number),
                outline=((0.0, 0.0), (height, 0.0), (height, width * 1.1), (0.0, width * 1.1)),
                copies=2 * layers,
            )
            for number, (width, height) in enumerate(boxes, start=1)
        )
        return round(row_lay(LayProblem(width=1340.0, pieces=pieces))[0] / 1000, 2)

    assert (length(1), length(2)) == (pytest.approx(one, abs=0.011), pytest.approx(two, abs=0.011))


def test_like_cuts_are_drawn_once_and_labelled_each():
    construction = shipped("two-layer")
    problems = lay_problems(draw_block(block_a()).pattern, construction, Choices(), plain_shelf(construction))
    assert len({problem_key(problem, Effort.QUICK) for problem in problems.values()}) == 1
    plans = lay_all(problems, Effort.QUICK)
    assert len({(plan.length, plan.seconds) for plan in plans.values()}) == 1
    for key, problem in problems.items():
        assert not lay_faults(problem, plans[key])
    assert {row.label for row in plans["outer"].placements}.isdisjoint(row.label for row in plans["inner"].placements)


def test_rows_lie_as_they_may():
    """A piece that may lie at 90° only lies so: 80 along and 10 across become 10 along and 80 across."""
    piece = LayPiece(label="a", outline=((0, 0), (80, 0), (80, 10), (0, 10)), copies=2, rotations=(90.0,))
    length, placements = row_lay(LayProblem(width=85.0, pieces=(piece,), spacing=0.0))
    boxes = {tuple(round(value, 9) for value in Polygon(row.outline).bounds) for row in placements}
    assert boxes == {(0, 0, 10, 80), (15, 0, 25, 80)}
    assert length == pytest.approx(25)


def test_a_repeat_makes_another_problem():
    piece = LayPiece(label="a", outline=((0, 0), (80, 0), (80, 10), (0, 10)))
    plain = LayProblem(width=85.0, pieces=(piece,))
    matched = dataclasses.replace(plain, repeat=Repeat(along=60.0))
    assert problem_key(plain, Effort.QUICK) != problem_key(matched, Effort.QUICK)


def test_nap_allows_no_turning():
    tall = LayPiece(label="a", outline=((0, 0), (300, 0), (250, 90), (0, 80)), copies=6, rotations=(0.0,))
    problem = LayProblem(width=400.0, pieces=(tall,))
    plan = lay(problem, Effort.QUICK)
    assert not lay_faults(problem, plan)
    assert {placement.rotation for placement in plan.placements} == {0.0}


@settings(max_examples=5)
@given(
    st.lists(
        st.lists(st.tuples(st.integers(0, 200), st.integers(0, 150)), min_size=3, max_size=7), min_size=1, max_size=5
    )
)
def test_rows_of_any_shapes_are_true(clouds):
    hulls = [MultiPoint(cloud).convex_hull for cloud in clouds]
    pieces = tuple(
        LayPiece(label=str(index), outline=tuple((float(x), float(y)) for x, y in hull.exterior.coords[:-1]), copies=2)
        for index, hull in enumerate(hulls)
        if hull.geom_type == "Polygon"
    )
    if pieces:
        problem = LayProblem(width=200.0, pieces=pieces)
        assert not lay_faults(problem, lay(problem, Effort.NONE))


@pytest.mark.parametrize(
    ("outline", "width", "code"),
    [
        (((0, 0), (100, 0), (100, 500), (0, 500)), 400.0, "lay.piece-wider-than-cloth"),
        (((0, 0), (1, 1), (1, 0), (0, 1)), 400.0, "lay.outline"),
        (((0, 0), (float("nan"), 1), (1, 0)), 400.0, "lay.outline"),
        (((0, 0), (1, 1), (1, 0)), 0.0, "lay.width"),
    ],
)
def test_what_cannot_be_laid_is_refused(outline, width: float, code: str):
    with pytest.raises(Refused) as refusal:
        lay(LayProblem(width=width, pieces=(LayPiece(label="a", outline=outline),)), Effort.QUICK)
    assert refusal.value.findings[0].code == code


def test_the_check_finds_overlaps_and_pieces_outside():
    square = LayPiece(label="a", outline=((0, 0), (10, 0), (10, 10), (0, 10)), copies=2)
    problem = LayProblem(width=30.0, pieces=(square,))
    plan = lay(problem, Effort.NONE)
    on_top = (
        plan.placements[0],
        type(plan.placements[1])(label="a", copy=2, rotation=0.0, outline=plan.placements[0].outline),
    )

    codes = {fault.code for fault in lay_faults(problem, dataclasses.replace(plan, placements=on_top, length=5.0))}
    assert codes == {"lay.overlap", "lay.outside"}


SQUARE = LayPiece(label="a", outline=((0, 0), (10, 0), (10, 10), (0, 10)))


@pytest.mark.parametrize(
    ("pieces", "code", "where", "message"),
    [
        ((), "lay.no-pieces", "lay", "There is nothing to lay."),
        ((dataclasses.replace(SQUARE, copies=0),), "lay.copies", "a", "a has no copies or no way to lie."),
        ((dataclasses.replace(SQUARE, rotations=()),), "lay.copies", "a", "a has no copies or no way to lie."),
        ((dataclasses.replace(SQUARE, outline=((0, 0), (1, 1))),), "lay.outline", "a", "The outline of a is no simple closed shape."),
        (
            (dataclasses.replace(SQUARE, outline=((0, 0), (10, 0), (10, 80), (0, 80))),),
            "lay.piece-wider-than-cloth",
            "piece a",
            "Piece a is 80 wide as it may lie, 50 more than the cloth, which is 30 wide.",
        ),
    ],
)  # fmt: skip
def test_each_fault_of_a_lay_is_one_sentence_with_its_place(pieces, code: str, where: str, message: str):
    with pytest.raises(Refused) as refusal:
        lay(LayProblem(width=30.0, pieces=pieces), Effort.QUICK)
    assert [(found.code, found.where, found.message) for found in refusal.value.findings] == [(code, where, message)]


def test_where_the_engine_fails_the_pieces_lie_in_rows(monkeypatch: pytest.MonkeyPatch):
    def fails(*args: object, **kwargs: object) -> None:
        raise OSError("out of processes")

    problem = LayProblem(width=30.0, pieces=(dataclasses.replace(SQUARE, copies=3),), spacing=0.0)
    monkeypatch.setattr("quotes.lay.beginnings.MOST_FILLED", 0)
    monkeypatch.setattr("quotes.lay.packing.subprocess.Popen", fails)
    plan = lay(problem, Effort.QUICK)
    # Rows and boxes lie 5 apart: two squares of 10 fit on 30. The third is pushed up to them.
    assert (plan.method, plan.length) == ("failed", pytest.approx(20))
    assert plan.has_failed
    assert not lay(problem, Effort.NONE).has_failed


def two_squares(apart: float, *, rotation: float = 0.0, width: float = 30.0) -> tuple[LayProblem, LayPlan]:
    """Two squares of 10 beside each other along the cloth, with 5 asked for between them."""
    problem = LayProblem(width=width, pieces=(dataclasses.replace(SQUARE, copies=2),), spacing=5.0)
    plan = lay(problem, Effort.NONE)
    moved = tuple((x + 10 + apart, y) for x, y in SQUARE.outline)
    placements = (
        Placement(label="a", copy=1, rotation=rotation, outline=SQUARE.outline),
        Placement(label="a", copy=2, rotation=0.0, outline=moved),
    )
    return problem, dataclasses.replace(plan, placements=placements, length=100.0)


@pytest.mark.parametrize(("apart", "faults"), [(5.0, 0), (4.99998, 0), (4.9999, 1), (-1.0, 1)])
def test_pieces_may_lie_nearer_than_asked_by_a_millionth_of_the_width(apart: float, faults: int):
    found = lay_faults(*two_squares(apart))
    assert [fault.message for fault in found] == ["a and a lie too close."] * faults


def test_the_check_finds_what_is_missing_and_what_is_turned_as_it_must_not_be():
    problem, plan = two_squares(5.0, rotation=90.0)
    assert [(fault.code, fault.message) for fault in lay_faults(problem, plan)] == [
        ("lay.rotation", "a is turned by 90°.")
    ]
    problem, plan = two_squares(5.0)
    one = dataclasses.replace(plan, placements=plan.placements[:1])
    assert [(fault.code, fault.message) for fault in lay_faults(problem, one)] == [
        ("lay.pieces", "Some pieces are missing from the lay, or there too often.")
    ]


SLANTED: Polyline = ((0, 0), (10, 0), (10, 10), (5, 10))


@pytest.mark.parametrize(
    "outline",
    [
        tuple((x, y * 0.99) for x, y in SLANTED),
        tuple((10 - x, y) for x, y in SLANTED),
        tuple((float("nan"), y) for _, y in SLANTED),
    ],
    ids=["cut smaller", "mirrored", "no numbers"],
)
def test_the_check_finds_pieces_of_another_shape(outline: Polyline):
    piece = LayPiece(label="a", outline=SLANTED)
    problem = LayProblem(width=30.0, pieces=(piece,))
    plan = lay(problem, Effort.NONE)
    other = Placement(label="a", copy=1, rotation=0.0, outline=outline)
    found = lay_faults(problem, dataclasses.replace(plan, placements=(other,)))
    assert "a does not have its own outline." in {fault.message for fault in found}


def test_a_piece_lies_in_rows_the_way_in_which_it_fits():
    strip = LayPiece(label="a", outline=((0, 0), (10, 0), (10, 50), (0, 50)), rotations=(0.0, 90.0))
    problem = LayProblem(width=30.0, pieces=(strip,))
    plan = lay(problem, Effort.NONE)
    assert (plan.length, plan.placements[0].rotation) == (pytest.approx(50), 90.0)
    assert not lay_faults(problem, plan)


@pytest.mark.parametrize(("corners", "off"), [(4, 0.0), (40, 0.0), (4, 4e6)])
def test_the_engine_lays_a_piece_that_is_exactly_as_wide_as_the_cloth(
    corners: int, off: float, monkeypatch: pytest.MonkeyPatch
):
    """Its outline has 40 corners in one case, so that the engine gets it simplified, and that makes it wider; in another it is
    drawn far off, as drawings of a whole collection are.
    """
    monkeypatch.setattr("quotes.lay.beginnings.MOST_FILLED", 0)
    slant = [(5.0 + 20 * place / (corners - 3), 40.0 * place / (corners - 3)) for place in range(corners - 2)]
    outline = tuple((x + off, y - off) for x, y in ((0.0, 0.0), *slant, (0.0, 40.0)))
    piece = LayPiece(label="a", outline=outline, copies=2)
    problem = LayProblem(width=40.0, pieces=(piece,), spacing=2.0)
    plan = lay(problem, Effort.QUICK)
    assert plan.method == "packed"
    # One turned, slant on slant: 30 along for both, and the spacing across a side of √(20² + 40²) that is 40 high.
    assert plan.length == pytest.approx(30 + 2 * math.hypot(20, 40) / 40, abs=1e-3)


@pytest.mark.parametrize(("corners", "times"), [(40, 0), (4, 1)])
def test_curved_pieces_that_lie_in_rows_are_not_put_down_one_by_one(
    corners: int, times: int, monkeypatch: pytest.MonkeyPatch
):
    """That takes seconds, and finds exact fits of plain shapes alone. Four tapers lie side by side on 70, in boxes three do."""

    def fails(*args: object, **kwargs: object) -> None:
        raise OSError

    put_down: list[LayProblem] = []
    monkeypatch.setattr("quotes.lay.beginnings.bottom_left", lambda problem, watch: put_down.append(problem) or ())
    monkeypatch.setattr("quotes.lay.beginnings.is_at_bound", lambda plan: False)
    monkeypatch.setattr("quotes.lay.packing.subprocess.Popen", fails)
    places = [place / (corners - 3) for place in range(corners - 2)]
    slant = [(100 * place, 20 - 10 * place + math.sin(math.pi * place)) for place in places]
    taper = LayPiece(label="a", outline=((0.0, 0.0), (100.0, 0.0), *reversed(slant)), copies=4)
    plan = lay(LayProblem(width=73.0, pieces=(taper,), row_gap=2.0), Effort.THOROUGH)
    assert plan.length < 110
    assert len(put_down) == times


@pytest.mark.parametrize(
    ("copies", "effort", "seconds"),
    [
        (5, Effort.NORMAL, 1.0),
        (12, Effort.NORMAL, 1.1),
        (24, Effort.NORMAL, 2.2),
        (28, Effort.NORMAL, 4.2),
        (1000, Effort.NORMAL, 40.0),
        (1000, Effort.QUICK, 1.0),
        (1000, Effort.THOROUGH, 40.0),
        (1, Effort.NONE, 0.0),
    ],
)
def test_more_pieces_are_searched_longer_at_normal_effort(copies: int, effort: Effort, seconds: float):
    """By hand from quotes/defaults.json: 2.2 s for 24 pieces, a part of that for fewer, half a second for each more; 1 s to 40 s."""
    problem = LayProblem(width=30.0, pieces=(dataclasses.replace(SQUARE, copies=copies),))
    assert cpu_seconds(problem, effort) == pytest.approx(seconds)


def test_one_piece_is_at_its_bound_at_once():
    plan = lay(LayProblem(width=30.0, pieces=(SQUARE,)), Effort.THOROUGH)
    assert (plan.method, plan.length) == ("rows", plan.lower_bound)


def test_pieces_that_fit_exactly_are_laid_without_a_gap():
    """Twelve squares of 10 on cloth 30 wide take 40 of it: its area says that none can take less."""
    square = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    problem = LayProblem(width=30.0, pieces=(LayPiece(label="a", outline=square, copies=12),), spacing=0.0)
    plan = lay(problem, Effort.QUICK)
    assert plan.length == pytest.approx(40, rel=1e-6)
    assert above_bound_share(problem, plan) == pytest.approx(0, abs=1e-6)
