"""Long pieces side by side: by hand, and as the engine and rows lay them."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.lay.beside import MOST_PIECES, beside
from quotes.lay.check import lay_faults
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem, Placement
from quotes.lay.nest import lay
from quotes.lay.true_lays import pushed_together
from quotes.pattern.geometry import Polyline

TAPER = ((0.0, 0.0), (100.0, 0.0), (100.0, 10.0), (0.0, 20.0))
TAPERS = LayProblem(width=70.0, pieces=(LayPiece(label="a", outline=TAPER, copies=4),), spacing=2.0, row_gap=2.0)


def laid(problem: LayProblem, seed: int = 1) -> tuple[Placement, ...]:
    """One lay in rows; () where rows are not the way."""
    return next(beside(problem, [seed]), ())


def test_pieces_that_taper_lie_head_to_foot():
    """Two of them, one turned, are 30 broad: four and their spacing fit a width of 70 at once, in boxes of 20 three do."""
    assert lay(TAPERS, Effort.NONE).length > 150
    plan = pushed_together(TAPERS, laid(TAPERS))
    assert plan is not None
    assert plan.length == pytest.approx(100, abs=0.1)
    assert sorted(row.rotation for row in plan.placements) == [0, 0, 180, 180]


WAVES = (*((start + x, y) for start in range(0, 200, 50) for x, y in ((0, 20), (17.5, 0), (32.5, 0))), (200, 20))
"""An edge that comes in by 20 every 50, with flat hips of 15."""
WAVED = (*WAVES, *((x, 100 - depth) for x, depth in reversed(WAVES)))
"""100 broad at its hips, 60 at its waists, 200 long."""


def test_pieces_too_many_for_a_row_are_staggered_hip_by_waist():
    """By hand: moved by s along, from 15 on, the next lies 100 − 20/17.5 (s − 15) farther across; five on 480 may lie 95 apart."""
    problem = LayProblem(width=480.0, pieces=(LayPiece(label="a", outline=WAVED, copies=5),), spacing=0.0, row_gap=0.0)
    plans = [pushed_together(problem, placements) for placements in beside(problem, range(1, 5))]
    assert min(plan.length for plan in plans if plan) == pytest.approx(200 + 15 + 5 * 17.5 / 20, abs=0.1)


@pytest.mark.parametrize(
    ("outline", "copies", "width", "spacing"),
    [
        (((0, 0), (60, 0), (30, 52)), 20, 600.0, 2.0),
        (((0, 13.5), (40, 0), (80, 13.5), (40, 27)), 40, 600.0, 2.0),
        (((0, 0), (200, 0), (300, 100), (100, 100)), 20, 1000.0, 10.0),
    ],
    ids=["triangles", "diamonds", "strips cut slantwise"],
)
def test_pieces_that_are_pointed_along_the_cloth_have_room_to_lie(
    outline: Polyline, copies: int, width: float, spacing: float
):
    """A point with room around it reaches farther than half the spacing."""
    problem = LayProblem(
        width=width, pieces=(LayPiece(label="a", outline=outline, copies=copies),), spacing=spacing, row_gap=spacing
    )
    placements = laid(problem)
    assert len(placements) in (0, copies)
    plan = pushed_together(problem, placements) if placements else None
    assert plan is None or not lay_faults(problem, plan)


def test_pieces_that_may_lie_in_too_many_ways_are_left_to_the_engine():
    every_degree = tuple(float(turn) for turn in range(360))
    assert laid(replace(TAPERS, pieces=(replace(TAPERS.pieces[0], rotations=every_degree),))) == ()


def test_the_same_seed_gives_the_same_rows():
    assert laid(TAPERS, 3) == laid(TAPERS, 3)
    assert list(beside(TAPERS, [3, 4])) == [laid(TAPERS, 3), laid(TAPERS, 4)]


@pytest.mark.parametrize(
    "problem",
    [
        replace(TAPERS, pieces=(*TAPERS.pieces, LayPiece(label="short", outline=((0, 0), (40, 0), (40, 20), (0, 20))))),
        replace(TAPERS, width=45.0),
        replace(TAPERS, width=500.0, pieces=(replace(TAPERS.pieces[0], copies=MOST_PIECES + 1),)),
        replace(TAPERS, width=21.0, pieces=(replace(TAPERS.pieces[0], copies=1),)),
    ],
    ids=["unlike lengths", "rows half empty", "too many", "one"],
)
def test_what_does_not_lie_well_in_rows_is_left_to_the_engine(problem: LayProblem):
    assert laid(problem) == ()


@settings(max_examples=15)
@given(
    st.lists(st.tuples(st.integers(70, 100), st.integers(8, 30), st.integers(4, 30)), min_size=2, max_size=5),
    st.integers(1, 3),
    st.sampled_from([0.0, 2.0]),
    st.sampled_from([(0.0,), (0.0, 180.0)]),
)
def test_every_copy_lies_in_some_row_as_it_may(
    sizes: list[tuple[int, int, int]], copies: int, spacing: float, turns: tuple[float, ...]
):
    """Too broad rows lie a little over one another, or off the cloth; nothing else may be wrong with them."""
    pieces = tuple(
        LayPiece(
            label=str(place), outline=((0, 0), (along, 0), (along, end), (0, begin)), copies=copies, rotations=turns
        )
        for place, (along, begin, end) in enumerate(sizes)
    )
    problem = LayProblem(width=80.0, pieces=pieces, spacing=spacing)
    placements = laid(problem)
    if placements:
        length = max(x for row in placements for x, _ in row.outline)
        assert {fault.code for fault in lay_faults(problem, plan_of(problem, placements, length))} <= {
            "lay.overlap",
            "lay.outside",
        }


def plan_of(problem: LayProblem, placements: tuple[Placement, ...], length: float) -> LayPlan:
    return replace(lay(problem, Effort.NONE), placements=placements, length=length)
