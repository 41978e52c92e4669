"""One lay of several: never more cloth than each alone, shares that add up, remnants counted as the shelf counts them.

Expected lengths are reckoned by hand; that cutting apart is a way of cutting together is by definition.
"""

import math
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon
from shapely.affinity import rotate

from quotes.lay.check import lay_faults
from quotes.lay.given_cloth_check import given_cloth_faults
from quotes.lay.joint import GivenCloth, JointLay, lay_together, off_grain, taken_of
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem, Remnant
from quotes.lay.laying import laid

WIDTH = 100.0
SIZES = st.lists(st.tuples(st.integers(5, 60), st.integers(5, 95)), min_size=1, max_size=4)


def rectangles(*sizes: tuple[float, float], width: float = WIDTH) -> LayProblem:
    pieces = tuple(
        LayPiece(label=f"{place}", outline=((0, 0), (along, 0), (along, across), (0, across)))
        for place, (along, across) in enumerate(sizes)
    )
    return LayProblem(width=width, pieces=pieces, spacing=0.0)


def quick(problem: LayProblem) -> LayPlan:
    return laid(problem, Effort.NONE)


def engine(problem: LayProblem) -> LayPlan:
    return laid(problem, Effort.QUICK)


def must_hold(joint: JointLay) -> None:
    for part in joint.parts:
        assert given_cloth_faults(part.problem, part.plan) == ()
    assert joint.saves_mm >= 0
    assert sum(share.pays for share in joint.shares) == joint.takes_mm
    assert all(share.pays <= share.alone for share in joint.shares)


@settings(max_examples=25)
@given(
    st.lists(SIZES, min_size=1, max_size=3),
    st.lists(st.tuples(st.integers(20, 90), st.integers(20, 90), st.integers(1, 80), st.integers(10, 60)), max_size=2),
    st.lists(st.tuples(st.integers(0, 90), st.integers(0, 90)), max_size=2),
)
def test_nobody_takes_more_cloth_than_alone(
    of_each: list[list[tuple[int, int]]],
    on_shelf: list[tuple[int, int, int, int]],
    flaws: list[tuple[int, int]],
):
    problems = {f"Q{place}": rectangles(*sizes) for place, sizes in enumerate(of_each)}
    cloth = GivenCloth(
        remnants=tuple(Remnant(width=w, length=x, worth=worth, keep_length=keep) for w, x, worth, keep in on_shelf),
        flaws=tuple((float(x), float(y), x + 8.0, y + 8.0) for x, y in flaws),
    )
    joint = lay_together(problems, {}, cloth, quick)
    must_hold(joint)
    assert list(joint.alone_mm) == list(problems)
    labels = sorted(row.label for part in joint.parts for row in part.plan.placements)
    assert labels == sorted(f"{whose} {piece.label}" for whose, of in problems.items() for piece in of.pieces)


def test_two_that_fit_side_by_side_share_one_length():
    """60 and 40 across on 100: 50 long together, 50 each alone; each pays half."""
    joint = lay_together({"Q1": rectangles((50, 60)), "Q2": rectangles((50, 40))}, {}, GivenCloth(), engine)
    must_hold(joint)
    assert (joint.takes_mm, joint.saves_mm, len(joint.parts)) == (50, 50, 1)
    assert [share.pays for share in joint.shares] == [25, 25]
    assert {row.label for row in joint.parts[0].plan.placements} == {"Q1 0", "Q2 0"}


def test_a_joint_lay_that_is_longer_gives_way_to_one_after_another():
    """A search that finds nothing good: 500 together, where 50 and 50 are known."""
    problems = {"Q1": rectangles((50, 60)), "Q2": rectangles((50, 40))}
    alone = {whose: quick(problem) for whose, problem in problems.items()}

    def bad(problem: LayProblem) -> LayPlan:
        return replace(quick(problem), length=500.0)

    flawed = GivenCloth(flaws=((900.0, 0.0, 950.0, 100.0),))
    joint = lay_together(
        problems, alone, flawed, lambda problem: quick(problem) if len(problem.pieces) == 1 else bad(problem)
    )
    assert [part.whose for part in joint.parts] == [("Q1",), ("Q2",)]
    assert (joint.takes_mm, joint.saves_mm) == (100, 0)
    must_hold(joint)


def test_one_alone_on_the_plain_roll_is_its_own_lay():
    problem = rectangles((50, 60))
    known = replace(quick(problem), length=49.5)
    joint = lay_together({"Q1": problem}, {"Q1": known}, GivenCloth(), quick)
    assert (joint.takes_mm, joint.saves_mm) == (50, 0)
    assert joint.parts[0].plan.length == 49.5


def test_flaws_behind_the_first_are_in_the_way_of_the_second():
    """100 across each: the first takes 50; a flaw from 60 to 70 is 10 to 20 behind it, so that the second ends at 70."""
    problems = {"Q1": rectangles((50, 100)), "Q2": rectangles((50, 100))}
    joint = lay_together(problems, {}, GivenCloth(flaws=((60.0, 0.0, 70.0, 100.0),)), quick)
    must_hold(joint)
    assert joint.alone_mm == {"Q1": 50, "Q2": 70}


def test_a_rest_of_a_remnant_counts_as_the_shelf_counts_it():
    """A remnant of 50 by 200 counts as 100 of the roll. Cut to 60, 140 go back: 50 × 140 ÷ 100 = 70 of the roll, 30 used."""
    problem = rectangles((60, 50))
    cloth = GivenCloth(remnants=(Remnant(width=50.0, length=200.0, worth=100.0, keep_length=100.0),))
    joint = lay_together({"Q1": problem}, {}, cloth, quick)
    must_hold(joint)
    assert joint.alone_mm == {"Q1": 60}
    (part,) = joint.parts
    taken = taken_of(part.problem, part.plan)
    assert (taken.roll_mm, [(use.rest_mm, use.takes_mm) for use in taken.remnants]) == (0, [(140, 30)])
    assert (joint.takes_mm, joint.saves_mm) == (30, 30)


def test_a_lining_may_lie_off_the_grain_as_far_as_is_allowed_and_no_further():
    """A parallelogram that leans by 3° on a roll as broad as it is when it stands upright."""
    lean = math.tan(math.radians(3))
    leaning = LayPiece(label="a", outline=((0, 0), (90 * lean + 50, 0), (50, 90), (0, 90)))
    problem = LayProblem(width=95.0, pieces=(leaning,), spacing=0.0)
    allowed = off_grain(problem, 3.0)
    assert sorted(allowed.pieces[0].rotations) == [-3.0, 0.0, 3.0, 177.0, 180.0, 183.0]
    plan = quick(allowed)
    assert lay_faults(allowed, plan) == ()
    turned = rotate(Polygon(leaning.outline), 3.0, origin=(0, 0))
    left, low, right, _ = turned.bounds
    outline = tuple((x - left, y - low) for x, y in turned.exterior.coords[:-1])
    row = replace(plan.placements[0], rotation=3.0, outline=outline)
    aside = replace(plan, length=right - left, placements=(row,))
    assert lay_faults(allowed, aside) == ()
    assert {fault.code for fault in lay_faults(problem, aside)} == {"lay.rotation"}
    assert {fault.code for fault in lay_faults(off_grain(problem, 2.9), aside)} == {"lay.rotation"}
    assert off_grain(problem, 0.0) == problem


def test_lays_behind_each_other_are_pushed_together():
    """Two triangles that are halves of one square: 50 and 50 behind each other, 50 once one slides beside the other."""
    lower = LayPiece(label="0", outline=((0, 0), (50, 0), (0, 50)), rotations=(0.0,))
    upper = LayPiece(label="0", outline=((0, 50), (50, 0), (50, 50)), rotations=(0.0,))
    problems = {
        name: LayProblem(width=50.0, pieces=(piece,), spacing=0.0) for name, piece in {"Q1": lower, "Q2": upper}.items()
    }

    def bad(problem: LayProblem) -> LayPlan:
        return quick(problem) if len(problem.pieces) == 1 else replace(quick(problem), length=500.0)

    joint = lay_together(problems, {}, GivenCloth(), bad)
    must_hold(joint)
    assert joint.takes_mm <= 51
