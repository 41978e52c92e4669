"""Lays on given cloth: whole repeats, flaws left out, remnants first, each proven with plain geometry.

Bounds: published areas and densities of fixtures/nesting/README.md (Gardeyn et al., arXiv 2509.13329, Table 3); small lays by hand.
"""

import dataclasses
import json
import math
import threading
from collections import Counter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPoint, Polygon, box
from support_commands import run
from support_lay import NESTING, SQUARE, item, must_be_true, strip_file

from quotes.lay.budget import Budget
from quotes.lay.filling import Cloth, Filling, Shapes
from quotes.lay.given_cloth import lay_on_given_cloth
from quotes.lay.given_cloth_check import given_cloth_faults
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem, Placement, Remnant, Repeat
from quotes.lay.laying import laid as laid_with
from quotes.lay.nest import Search, lay
from quotes.lay.no_fit import convex_shapes, no_fit

RECTANGLE = LayPiece(label="a", outline=((0, 0), (50, 0), (50, 20), (0, 20)), copies=6, rotations=(0.0,))


def laid(problem: LayProblem, seconds: float = 0.0) -> LayPlan:
    return lay_on_given_cloth(problem, Effort.NONE, plain=in_rows, budget=Budget(seconds=seconds), seed=20)


def in_rows(problem: LayProblem, seconds: float = 0.0) -> LayPlan:
    return lay(problem, Effort.NONE)


def test_matched_rectangles_by_hand():
    """On a width of 100, a repeat of 30 across: rectangles of 20 lie at 0, 30, 60; along, 50 takes two repeats of 40."""
    problem = LayProblem(width=100.0, pieces=(RECTANGLE,), spacing=0.0, repeat=Repeat(along=40.0, across=30.0))
    plan = laid(problem)
    assert {row.outline[0] for row in plan.placements} == {(x, y) for x in (0.0, 80.0) for y in (0.0, 30.0, 60.0)}
    assert plan.length == pytest.approx(130)
    # Across free: five rectangles of 20 on 100, and the sixth at the next repeat.
    along = laid(dataclasses.replace(problem, repeat=Repeat(along=40.0)))
    assert along.length == pytest.approx(130)
    assert sorted(row.outline[0][0] for row in along.placements) == pytest.approx([0, 0, 0, 0, 0, 80])
    # Along free: three at a time on repeats of 30, close behind each other.
    across = laid(dataclasses.replace(problem, repeat=Repeat(across=30.0)))
    assert across.length == pytest.approx(100, abs=1e-3)


def test_a_search_on_matched_cloth_is_told_of_and_stopped():
    """The hour that it may take is not taken once it was asked to end."""
    asked, told = threading.Event(), list[float]()

    def note(length: float) -> None:
        told.append(length)
        asked.set()

    problem = LayProblem(width=100.0, pieces=(RECTANGLE,), spacing=0.0, repeat=Repeat(across=30.0))
    plan = lay_on_given_cloth(
        problem,
        Effort.NORMAL,
        plain=in_rows,
        budget=Budget(seconds=3600),
        seed=20,
        on_progress=note,
        stop=asked,
    )
    assert plan.method == "stopped"
    assert told == [plan.length]
    assert given_cloth_faults(problem, plan) == ()


SHELF = tuple(Remnant(width=60.0 + worth, length=130.0, worth=worth, keep_length=20.0) for worth in (3.0, 4.0, 5.0))
LARGE = Remnant(width=100.0, length=500.0, worth=20.0)


@pytest.mark.parametrize("seconds", [1.0, 30.0])
@pytest.mark.parametrize(
    "cloth",
    [
        {"flaws": ((0.0, 0.0, 5.0, 5.0),)},
        {"remnants": (LARGE,)},
        {"remnants": (*SHELF, LARGE), "flaws": ((0.0, 0.0, 5.0, 5.0),)},
    ],
    ids=["flaw", "remnant", "both"],
)
def test_seconds_are_for_all_lays_that_are_tried(cloth: dict[str, object], seconds: float):
    """The roll alone has them, half of them where pieces are put down one by one as well; what uses remnants has half as many
    again, and no search of it so few that it finds nothing.
    """
    given_out: list[tuple[LayProblem, float]] = []

    def plain(problem: LayProblem, part: float) -> LayPlan:
        given_out.append((problem, part))
        return in_rows(problem)

    problem = LayProblem(width=100.0, pieces=(RECTANGLE,), spacing=0.0, **cloth)
    over = threading.Event()
    over.set()
    plan = lay_on_given_cloth(
        problem, Effort.NORMAL, plain=plain, budget=Budget(seconds=seconds, is_for_all=True), seed=20, stop=over
    )
    assert given_cloth_faults(problem, plan) == ()
    parts = [part for _, part in given_out]
    assert parts[0] >= seconds / 2
    assert sum(parts) - parts[0] <= seconds / 2 + 1e-9
    assert min(parts) >= min(0.5, parts[0])
    assert len({tried for tried, _ in given_out}) == len(given_out)


def test_with_more_time_more_is_tried():
    """Of an effort each lay has its seconds, however many there are."""
    problem = LayProblem(width=100.0, pieces=(RECTANGLE,), spacing=0.0, remnants=(*SHELF, LARGE))
    tried = []
    for budget in (Budget(seconds=1.5, is_for_all=True), Budget(seconds=50.0, is_for_all=True), Budget(seconds=2.5)):
        parts: list[float] = []

        def plain(problem: LayProblem, part: float, parts: list[float] = parts) -> LayPlan:
            parts.append(part)
            return in_rows(problem)

        lay_on_given_cloth(problem, Effort.NORMAL, plain=plain, budget=budget, seed=20)
        tried.append(parts)
    few, many, each = tried
    assert len(few) <= 2 < len(many) == len(each)
    assert set(each) == {2.5}


@pytest.mark.parametrize(
    "cloth",
    [{"repeat": Repeat(across=30.0)}, {"repeat": Repeat(along=0.11)}, {"flaws": ((0.0, 0.0, 5.0, 100.0),)}],
    ids=["across", "fine along", "flaw"],
)
@pytest.mark.parametrize("spacing", [0.0, 2.0, 5.0])
def test_a_roll_without_end_has_room_for_every_piece_however_far_they_lie_apart(
    cloth: dict[str, object], spacing: float
):
    """A rectangle as broad as the cloth: one lies behind the other, at least as far apart as is said."""
    broad = LayPiece(label="broad", outline=((0.0, 0.0), (40.0, 0.0), (40.0, 95.0), (0.0, 95.0)), copies=9)
    problem = LayProblem(width=100.0, pieces=(broad,), spacing=spacing, **cloth)
    plan = laid(problem)
    assert given_cloth_faults(problem, plan) == ()
    assert plan.length == pytest.approx(9 * 40 + 8 * spacing, rel=0.05)


@pytest.mark.parametrize(
    "repeat", [{"along": 60, "across": 60}, {"along": 160}, {"across": 320}, {"along": 320, "across": 160}]
)
def test_no_piece_lies_off_its_repeat(tmp_path, repeat: dict[str, float]):
    """Albano's pieces on a strip of 4900; what is matched takes no less than the area, nor less than the best that is known."""
    data = json.loads((NESTING / "albano.json").read_text())
    pieces = {row["id"]: row["shape"]["data"] for row in data["items"]}
    path = tmp_path / "matched.json"
    path.write_text(json.dumps({**data, "repeat": repeat}))
    code, document = run("lay", path, "--effort", "none")
    assert code == 0
    must_be_true(document, width=4900, counts=Counter({row["id"]: row["demand"] for row in data["items"]}), hair=0.01)
    assert document["density_share"] < 0.8982
    for row in document["placements"]:
        turn = math.radians(row["rotation"])
        x, y = pieces[row["piece"]][0]
        at = (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
        for axis, every in enumerate((repeat.get("along"), repeat.get("across"))):
            if every:
                assert abs(math.remainder(row["outline"][0][axis] - at[axis], every)) < 1e-6 * 4900


def test_nothing_lies_on_a_flaw_and_the_length_tells_it():
    """Three rectangles of 50 by 20 on a width of 20: in the first 50 there is room for none, then they follow each other."""
    problem = LayProblem(
        width=20.0, pieces=(dataclasses.replace(RECTANGLE, copies=3),), spacing=0.0, flaws=((45.0, 5.0, 50.0, 9.0),)
    )
    plan = laid(problem)
    assert plan.length == pytest.approx(200, abs=1e-3)
    assert not any(Polygon(row.outline).intersection(box(45, 5, 50, 9)).area > 1e-9 for row in plan.placements)
    # A flaw that lies beyond all pieces costs nothing.
    assert laid(dataclasses.replace(problem, flaws=((900.0, 0.0, 950.0, 20.0),))).length == pytest.approx(150, abs=1e-3)


@pytest.mark.parametrize(
    ("worth", "length", "on_remnant"),
    [(0.0, 100.0, 4), (99.0, 100.0, 4), (150.0, 200.0, 0)],
)
def test_a_remnant_is_begun_where_it_costs_less(worth: float, length: float, on_remnant: int):
    """Eight rectangles of 50 by 20 on a width of 40 take 200; a remnant of 100 by 40 saves 100 of them."""
    problem = LayProblem(
        width=40.0,
        pieces=(dataclasses.replace(RECTANGLE, copies=8),),
        spacing=0.0,
        remnants=(Remnant(width=40.0, length=100.0, worth=worth),),
    )
    plan = lay_on_given_cloth(problem, Effort.NONE, plain=exact_rows, budget=Budget(seconds=0.0), seed=20)
    assert plan.length == pytest.approx(length)
    assert sum(row.remnant == 0 for row in plan.placements) == on_remnant


def exact_rows(problem: LayProblem, seconds: float = 0.0) -> LayPlan:
    """Rectangles of 50 by 20, two by two, as a lay could be no shorter."""
    count = sum(piece.copies for piece in problem.pieces)
    rows = tuple(
        Placement(
            label="a",
            copy=at + 1,
            rotation=0.0,
            outline=tuple((x + 50 * (at // 2), y + 20 * (at % 2)) for x, y in RECTANGLE.outline),
        )
        for at in range(count)
    )
    return LayPlan(width=40.0, length=50.0 * math.ceil(count / 2), density_share=1.0, lower_bound=0.0, placements=rows, effort=Effort.NONE, seconds=0.0, method="packed")  # fmt: skip


def test_a_remnant_never_costs_more_than_the_roll_alone(tmp_path):
    problem = [item(id=1, demand=7), item([[0, 0], [24, 0], [12, 18]], id=2, demand=3)]
    _, alone = run("lay", strip_file(tmp_path, *problem), "--effort", "none")
    for worth in (0, 5, 20, 1000):
        remnants = [{"width": 12, "length": 40, "worth": worth}, {"width": 30, "length": 15, "worth": worth / 2}]
        code, document = run("lay", strip_file(tmp_path, *problem, remnants=remnants), "--effort", "none")
        assert code == 0
        begun = {row["cloth"] for row in document["placements"]} - {"roll"}
        assert document["length"] + sum(remnants[which]["worth"] for which in begun) <= alone["length"] + 1e-9
        must_be_true(document, width=30, counts=Counter({1: 7, 2: 3}), hair=0.001)
        for row in document["placements"]:
            if row["cloth"] != "roll":
                remnant = remnants[row["cloth"]]
                assert box(-1e-3, -1e-3, remnant["length"] + 1e-3, remnant["width"] + 1e-3).contains(
                    Polygon(row["outline"])
                )


def test_a_piece_that_meets_no_whole_repeat_is_named(tmp_path):
    """A square of 20 whose origin lies 15 below it fits a width of 30 at −15 to −5 only, where no whole 50 lies."""
    high = [[x * 2, y * 2 + 15] for x, y in SQUARE]
    code, document = run("lay", strip_file(tmp_path, item(high), repeat={"across": 50}))
    assert code == 1
    assert [(found["code"], found["where"]) for found in document["findings"]] == [("lay.repeat-too-wide", "piece 0")]


GIVEN = LayProblem(
    width=40.0,
    pieces=(dataclasses.replace(RECTANGLE, copies=1),),
    spacing=0.0,
    repeat=Repeat(along=10.0),
    flaws=((90.0, 0.0, 95.0, 5.0),),
    remnants=(Remnant(width=15.0, length=60.0),),
)  # fmt: skip


@pytest.mark.parametrize(
    ("x", "y", "remnant", "code"),
    [
        (0.0, 0.0, None, None),
        (5.0, 0.0, None, "lay.repeat"),
        (0.0, 21.0, None, "lay.outside"),
        (50.0, 0.0, None, "lay.on-flaw"),
        (50.0, 5.0, None, None),
        (0.0, 0.0, 0, "lay.outside"),
        (0.0, 0.0, 1, "lay.remnant"),
    ],
)
def test_the_check_finds_each_fault(x: float, y: float, remnant: int | None, code: str | None):
    outline = tuple((a + x, b + y) for a, b in RECTANGLE.outline)
    plan = dataclasses.replace(
        exact_rows(GIVEN),
        length=100.0,
        placements=(Placement(label="a", copy=1, rotation=0.0, outline=outline, remnant=remnant),),
    )
    assert {fault.code for fault in given_cloth_faults(GIVEN, plan)} == ({code} if code else set())


def test_the_check_finds_what_overlaps_is_deformed_or_missing():
    twice = dataclasses.replace(GIVEN, pieces=(dataclasses.replace(RECTANGLE, copies=2),))
    row = Placement(label="a", copy=1, rotation=0.0, outline=RECTANGLE.outline)
    plan = dataclasses.replace(exact_rows(GIVEN), length=100.0, placements=(row, dataclasses.replace(row, copy=2)))
    assert {fault.code for fault in given_cloth_faults(twice, plan)} == {"lay.overlap"}
    assert {fault.code for fault in given_cloth_faults(GIVEN, plan)} == {"lay.pieces", "lay.overlap"}
    bent = dataclasses.replace(row, outline=((0, 0), (50, 0), (50, 19), (0, 20)))
    assert {fault.code for fault in given_cloth_faults(GIVEN, dataclasses.replace(plan, placements=(bent,)))} == {
        "lay.outline"
    }
    turned = dataclasses.replace(row, rotation=90.0)
    assert {fault.code for fault in given_cloth_faults(GIVEN, dataclasses.replace(plan, placements=(turned,)))} == {
        "lay.rotation"
    }


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(0, 60), st.integers(0, 40)), min_size=3, max_size=8),
    st.lists(st.tuples(st.integers(0, 60), st.integers(0, 40)), min_size=3, max_size=8),
    st.tuples(st.floats(-70, 70), st.floats(-50, 50)),
    st.floats(0, 5),
)
def test_the_no_fit_polygon_says_what_overlaps(one, other, move, spacing):
    """By definition: a move lies in it where the moved piece lies nearer than the spacing (Bennell & Oliveira 2008)."""
    fixed, moving = MultiPoint(one).convex_hull, MultiPoint(other).convex_hull
    if fixed.geom_type != "Polygon" or moving.geom_type != "Polygon":
        return
    blocked = no_fit(
        convex_shapes(tuple(fixed.exterior.coords[:-1])),
        convex_shapes(tuple(moving.exterior.coords[:-1])),
        spacing=spacing,
        hair=0.0,
    )
    moved = Polygon([(x + move[0], y + move[1]) for x, y in moving.exterior.coords])
    apart, inside = fixed.distance(moved), blocked.contains(MultiPoint([move]))
    if apart < spacing - 1e-6 or fixed.intersection(moved).area > 1e-3:
        assert inside
    elif apart > spacing * 1.02 + 1e-6:
        assert not inside


def test_convex_parts_make_up_a_hollow_shape():
    star = tuple(
        (math.cos(math.pi * k / 5) * (10 if k % 2 else 4), math.sin(math.pi * k / 5) * (10 if k % 2 else 4))
        for k in range(10)
    )
    parts = convex_shapes(star)
    assert sum(part.area for part in parts) == pytest.approx(Polygon(star).area)
    assert all(part.convex_hull.area == pytest.approx(part.area) for part in parts)
    assert len(parts) < 8


def test_a_piece_always_has_room_behind_all_others():
    """Two discs as broad as the cloth, no spacing kept: the second lies behind the first, so 2 × 100 hold both, a hair more."""
    turns = [2 * math.pi * place / 64 for place in range(64)]
    disc = LayPiece(
        label="disc", outline=tuple((50 + 50 * math.cos(turn), 50 + 50 * math.sin(turn)) for turn in turns), copies=2
    )
    problem = LayProblem(width=100.0, pieces=(disc,), spacing=0.0, flaws=((0.0, 99.0, 1.0, 100.0),))
    filling = Filling(Cloth(width=100.0, flaws=problem.flaws), Shapes((disc,), width=100.0, spacing=0.0))
    assert [filling.add("disc"), filling.add("disc")] == [True, True]
    assert 200 < filling.length < 202
    assert laid(problem).length < 202


def test_another_seed_puts_pieces_down_in_another_order():
    """On matched cloth too, where no engine searches: so each turn of idle time starts elsewhere."""
    wedges = tuple(
        LayPiece(label=str(place), outline=((0, 0), (90 + 11 * place, 0), (70, 60 + 7 * place))) for place in range(8)
    )
    problem = LayProblem(width=300.0, pieces=wedges, repeat=Repeat(along=20.0))
    seen = {}
    for seed in (20, 21):
        told = list[float]()
        stop = CountedStop(left=3000)
        laid_with(problem, Effort.NORMAL, seconds=3600, search=Search(seed=seed, on_progress=told.append, stop=stop))
        seen[seed] = told
    assert seen[20] != seen[21]


@dataclasses.dataclass
class CountedStop:
    """Asks a search to end when it looked so often."""

    left: int

    def is_set(self) -> bool:
        self.left -= 1
        return self.left < 0


def test_pieces_in_rows_lie_close_where_a_file_has_its_own_unit(tmp_path):
    """Two squares of 10, as broad as their strip, lie in 20: a gap in millimetres would mean nothing there."""
    path = strip_file(tmp_path, item([[0, 0], [10, 0], [10, 30], [0, 30]], demand=2))
    code, document = run("lay", path, "--effort", "none")
    assert (code, document["length"]) == (0, pytest.approx(20))
