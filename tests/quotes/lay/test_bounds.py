"""What no lay can beat: by hand, and against every lay that is drawn.

A lay costs its length of the roll and what is used up of remnants by their worth; so a bound of the length says nothing of it.
"""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_commands import run
from support_lay import item, strip_file

from quotes.desk.kept_lays import may_be_shorter
from quotes.lay.bounds import above_bound_share, least_cost, least_length
from quotes.lay.lay_plan import Effort, LayPiece, LayProblem, Placement, Remnant
from quotes.lay.laying import laid
from quotes.lay.nest import lay
from quotes.lay.remnants import cost_of

RECTANGLE = LayPiece(label="a", outline=((0, 0), (50, 0), (50, 20), (0, 20)), copies=8, rotations=(0.0,))
EIGHT = LayProblem(width=40.0, pieces=(RECTANGLE,), spacing=0.0)
"""Two by two they take 200 of the roll, without a gap."""


@pytest.mark.parametrize(
    ("remnants", "length", "cost"),
    [
        ((), 200.0, 200.0),
        ((Remnant(width=40.0, length=100.0, worth=50.0),), 100.0, 150.0),
        ((Remnant(width=40.0, length=100.0, worth=150.0),), 100.0, 200.0),
        # It holds all, at 120; a roll of which nothing is taken says nothing of that.
        ((Remnant(width=40.0, length=900.0, worth=120.0),), 0.0, 120.0),
        # What lies beyond the pieces goes back: 200 of 900 are used up.
        ((Remnant(width=40.0, length=900.0, worth=450.0, keep_length=100.0),), 0.0, 100.0),
        # No piece fits the first; the second holds two.
        ((Remnant(width=19.0, length=900.0), Remnant(width=20.0, length=100.0)), 150.0, 150.0),
    ],
)
def test_by_hand(remnants: tuple[Remnant, ...], length: float, cost: float):
    problem = replace(EIGHT, remnants=remnants)
    assert least_length(problem) == pytest.approx(length)
    assert least_cost(problem) == pytest.approx(cost)


def test_a_piece_takes_its_own_length_of_the_roll_or_of_a_remnant():
    """One strip of 300 by 10 on a width of 100: by its area 30 would do."""
    strip = LayProblem(width=100.0, pieces=(LayPiece(label="a", outline=((0, 0), (300, 0), (300, 10), (0, 10))),))
    on_shelf = Remnant(width=10.0, length=300.0, worth=40.0)
    assert least_cost(strip) == 300
    assert least_cost(replace(strip, remnants=(on_shelf,))) == 40
    assert least_cost(replace(strip, remnants=(replace(on_shelf, length=299.0),))) == 300


def test_only_turns_in_which_a_piece_fits_the_width_count():
    """A strip of 30 by 90 lies on a width of 40 one way alone, 90 along; on a remnant of 100 the other way, too."""
    outline = ((0, 0), (30, 0), (30, 90), (0, 90))
    strip = LayProblem(width=40.0, pieces=(LayPiece(label="a", outline=outline, rotations=(0.0, 90.0)),))
    assert least_length(strip) == pytest.approx(90)
    assert above_bound_share(strip, lay(strip, Effort.NONE)) == pytest.approx(0)
    shelf = Remnant(width=100.0, length=300.0, worth=50.0, keep_length=10.0)
    assert least_cost(replace(strip, remnants=(shelf,))) == pytest.approx(50 * 30 / 300)


def on(remnant: int | None, *places: tuple[float, float]) -> tuple[Placement, ...]:
    """Rectangles where they are said to lie."""
    return tuple(
        Placement(
            label="a",
            copy=1,
            rotation=0.0,
            outline=tuple((x + along, y + across) for x, y in RECTANGLE.outline),
            remnant=remnant,
        )
        for along, across in places
    )


def test_a_lay_whose_remnants_would_hold_all_is_not_proven_by_that():
    """All eight would fit the remnant by their area, at 120. Half of them on each, at 120 + 100, is not the best."""
    problem = replace(EIGHT, remnants=(Remnant(width=40.0, length=900.0, worth=120.0),))
    four = ((0.0, 0.0), (0.0, 20.0), (50.0, 0.0), (50.0, 20.0))
    plan = lay(EIGHT, Effort.NONE)
    halves = replace(
        plan, length=100.0, placements=on(0, *four) + on(None, *four), effort=Effort.NORMAL, method="packed"
    )
    halves = replace(halves, lower_bound=least_length(problem))
    assert above_bound_share(problem, halves) == pytest.approx(220 / 120 - 1)
    assert may_be_shorter(problem, halves, Effort.THOROUGH)
    all_on_it = replace(halves, length=0.0, placements=on(0, *four, *((x + 100, y) for x, y in four)))
    assert above_bound_share(problem, all_on_it) == pytest.approx(0)
    assert not may_be_shorter(problem, all_on_it, Effort.THOROUGH)


def test_where_all_may_lie_on_what_costs_nothing_only_that_is_proven():
    problem = replace(EIGHT, remnants=(Remnant(width=40.0, length=900.0),))
    assert least_cost(problem) == 0
    on_roll = replace(lay(EIGHT, Effort.NONE), effort=Effort.NORMAL)
    assert above_bound_share(problem, on_roll) is None
    assert may_be_shorter(problem, on_roll, Effort.THOROUGH)
    for_nothing = replace(on_roll, length=0.0, placements=on(0, *((50.0 * place, 0.0) for place in range(8))))
    assert above_bound_share(problem, for_nothing) == 0


@settings(max_examples=40)
@given(
    st.lists(st.tuples(st.integers(5, 60), st.integers(5, 45), st.integers(1, 3)), min_size=1, max_size=5),
    st.lists(
        st.tuples(st.integers(20, 90), st.integers(20, 200), st.integers(0, 80), st.none() | st.integers(0, 60)),
        max_size=3,
    ),
)
def test_no_lay_costs_less(sizes: list[tuple[int, int, int]], on_shelf: list[tuple[int, int, int, int | None]]):
    pieces = tuple(
        LayPiece(label=f"{place}", outline=((0, 0), (along, 0), (along, across), (0, across)), copies=copies)
        for place, (along, across, copies) in enumerate(sizes)
    )
    remnants = tuple(
        Remnant(width=across, length=along, worth=worth, keep_length=keep) for across, along, worth, keep in on_shelf
    )
    problem = LayProblem(width=100.0, pieces=pieces, spacing=0.0, remnants=remnants)
    plan = laid(problem, Effort.NONE)
    assert least_cost(problem) <= cost_of(problem, plan) + 1e-6
    assert plan.lower_bound <= plan.length + 1e-6


def test_the_command_says_what_is_known(tmp_path):
    """Squares of 10 on a strip of 30, and a remnant of 100 by 30 that is worth 15: six of them take 20, or it."""
    path = strip_file(tmp_path, item(demand=6), remnants=[{"width": 30, "length": 100, "worth": 15}])
    code, document = run("lay", path, "--effort", "none")
    assert code == 0
    assert {row["cloth"] for row in document["placements"]} == {0}
    assert (document["length"], document["lower_bound"]) == (0, 0)
    assert (document["cost"], document["least_cost"]) == pytest.approx((15, 15))
    assert document["above_bound_share"] == pytest.approx(0)
    path = strip_file(tmp_path, item(demand=5), remnants=[{"width": 9, "length": 100, "worth": 1}])
    _, document = run("lay", path, "--effort", "none")
    assert document["cost"] == document["length"] == pytest.approx(20)
    assert document["above_bound_share"] == pytest.approx(20 / (500 / 30) - 1)
