"""What matching and remnants may cost, and what they may not.

By definition: every matched lay is a plain lay of the same pieces; a lay that may use remnants may also leave them.
"""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.lay.check import lay_faults
from quotes.lay.given_cloth_check import given_cloth_faults
from quotes.lay.lay_plan import Effort, LayPiece, LayProblem, Remnant, Repeat
from quotes.lay.laying import laid, laid_matched
from quotes.lay.remnants import cost_of, used_of_remnants

WIDTH = 100.0
SIZES = st.lists(st.tuples(st.integers(5, 60), st.integers(5, 45)), min_size=1, max_size=6)
COUNTS = st.integers(1, 2)


def problem_of(sizes: list[tuple[int, int]], copies: int = 1) -> LayProblem:
    """Right-angled triangles and rectangles, turn about."""
    pieces = tuple(
        LayPiece(
            label=f"{place}",
            outline=((0, 0), (along, 0), (along, across), (0, across)) if place % 2 else ((0, 0), (along, 0), (0, across)),
            copies=copies,
        )
        for place, (along, across) in enumerate(sizes)
    )  # fmt: skip
    return LayProblem(width=WIDTH, pieces=pieces, spacing=0.0)


@settings(max_examples=30)
@given(SIZES, COUNTS, st.sampled_from([7.0, 16.0, 32.0]), st.sampled_from([0.0, 9.0]))
def test_matching_is_never_a_saving(sizes: list[tuple[int, int]], copies: int, along: float, across: float):
    plain = problem_of(sizes, copies)
    both = laid_matched(replace(plain, repeat=Repeat(along=along, across=across)), Effort.NONE)
    assert both.plain.length <= both.matched.length
    assert both.extra == pytest.approx(both.matched.length - both.plain.length)
    assert lay_faults(plain, both.plain) == ()


def test_what_is_found_for_matched_pieces_counts_for_plain_ones():
    """Two triangles of 40 by 40 as one square: the quick rows lay them one box after another, put down one by one they meet."""
    triangles = LayPiece(label="a", outline=((0, 0), (40, 0), (0, 40)), copies=2)
    problem = LayProblem(width=41.0, pieces=(triangles,), spacing=0.0)
    assert laid(problem, Effort.NONE).length > 79
    both = laid_matched(replace(problem, repeat=Repeat(along=1.0)), Effort.NONE)
    assert both.plain.length == pytest.approx(40, abs=1.5)


@settings(max_examples=30)
@given(
    SIZES,
    COUNTS,
    st.lists(st.tuples(st.integers(20, 90), st.integers(20, 90), st.integers(0, 80), st.integers(0, 60)), max_size=3),
)
def test_a_lay_that_may_use_remnants_costs_no_more_than_one_that_may_not(
    sizes: list[tuple[int, int]], copies: int, on_shelf: list[tuple[int, int, int, int]]
):
    alone = problem_of(sizes, copies)
    remnants = tuple(
        Remnant(width=w, length=along, worth=worth, keep_length=keep) for w, along, worth, keep in on_shelf
    )
    problem = replace(alone, remnants=remnants)
    plan = laid(problem, Effort.NONE)
    assert cost_of(problem, plan) <= cost_of(alone, laid(alone, Effort.NONE)) + 1e-6
    assert given_cloth_faults(problem, plan) == ()


@pytest.mark.parametrize(("keep", "is_used"), [(None, False), (50.0, True), (51.0, False)])
def test_a_rest_that_goes_back_keeps_its_worth(keep: float | None, is_used: bool):
    """Five rectangles of 50 by 20, one at a time on 20, take 250 of the roll. A remnant of 300 that is worth 280 costs
    280 if all of it counts, and 280 × 250 ÷ 300 = 233.3 where the 50 that are left go back.
    """
    rectangle = LayPiece(label="a", outline=((0, 0), (50, 0), (50, 20), (0, 20)), copies=5)
    remnant = Remnant(width=20.0, length=300.0, worth=280.0, keep_length=keep)
    problem = LayProblem(width=20.0, pieces=(rectangle,), spacing=0.0, remnants=(remnant,))
    plan = laid(problem, Effort.QUICK)
    assert bool(used_of_remnants(plan.placements)) == is_used
    assert cost_of(problem, plan) == pytest.approx(280 * 250 / 300 if is_used else 250, abs=1e-3)
    assert math.isclose(plan.length, 0.0 if is_used else 250.0, abs_tol=1e-3)


def test_of_what_costs_the_same_remnants_are_used_first():
    """Four rectangles of 50 by 20 take 200 of a roll of 20; of a remnant of 240 by 20 the other 40 go back."""
    rectangle = LayPiece(label="a", outline=((0, 0), (50, 0), (50, 20), (0, 20)), copies=4)
    remnant = Remnant(width=20.0, length=240.0, worth=240.0, keep_length=40.0)
    problem = LayProblem(width=20.0, pieces=(rectangle,), spacing=0.0, remnants=(remnant,))
    plan = laid(problem, Effort.QUICK)
    assert used_of_remnants(plan.placements) == pytest.approx({0: 200.0}, abs=1e-6)
    assert plan.length == 0
