"""What a lay may take of the processor: all that is done for it counts, and the engine has most. The rules are the product's own.

Time is made by hand here: what the parts of the work take is said, and nothing depends on how fast a machine is.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import pytest
from support_lays import open_instance
from test_given_cloth import NESTING, RECTANGLE, CountedStop, exact_rows, in_rows

from quotes.lay import beginnings, budget, nest
from quotes.lay.beginnings import SEEDS, begun
from quotes.lay.beside import LOOK_STEPS, STEPS, beside
from quotes.lay.budget import Budget, OverError, Watch
from quotes.lay.check import lay_faults
from quotes.lay.compaction import compacted
from quotes.lay.filling import bottom_left
from quotes.lay.given_cloth import lay_on_given_cloth
from quotes.lay.given_cloth_check import given_cloth_faults
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem, Placement, Remnant, Repeat
from quotes.lay.nest import Search, lay
from quotes.lay.packing import Ended
from quotes.lay.remnants import cost_of
from quotes.lay.rows import row_lay
from quotes.lay.true_lays import plan_of

TAPER = LayPiece(label="taper", outline=((0, 0), (100, 0), (100, 10), (0, 20)), copies=8)
TAPERS = LayProblem(width=70.0, pieces=(TAPER,), spacing=2.0)


@dataclass
class Work:
    """A clock of the processor that goes on only where work is said to take time; what was worked at, and the engine's time."""

    now: float = 100.0
    side_by_side: float = 0.0
    one_by_one: float = 0.0
    done: list[str] | None = None
    engine: float | None = None

    def thread_time(self) -> float:
        return self.now

    def beside(self, problem: LayProblem, seeds: Iterable[int], **said: object) -> Iterator[tuple[Placement, ...]]:
        for _ in seeds:
            self.now += self.side_by_side
            self._note("beside")
            yield row_lay(problem)[1]

    def bottom_left(self, problem: LayProblem, watch: Watch) -> tuple[Placement, ...]:
        self.now += self.one_by_one
        self._note("bottom left")
        return ()

    def pack(self, items: object, *, cpu_seconds: float, **said: object) -> Ended:
        self.engine = cpu_seconds
        return Ended.BUDGET

    def _note(self, what: str) -> None:
        self.done = [*(self.done or []), what]


@pytest.fixture
def work(monkeypatch: pytest.MonkeyPatch) -> Iterator[Work]:
    by_hand = Work()
    monkeypatch.setattr(beginnings, "beside", by_hand.beside)
    monkeypatch.setattr(beginnings, "bottom_left", by_hand.bottom_left)
    monkeypatch.setattr(nest, "pack", by_hand.pack)
    monkeypatch.setattr(budget.time, "thread_time", by_hand.thread_time)
    return by_hand


@pytest.mark.parametrize("seconds", [1.0, 2.0, 10.0, 60.0])
def test_the_engine_has_the_seconds_and_what_is_beside_it_little_more(work: Work, seconds: float):
    work.side_by_side = work.one_by_one = 0.04 * seconds
    lay(TAPERS, Effort.NORMAL, Search(cpu_seconds=seconds))
    assert work.engine == seconds
    assert work.now - 100.0 <= nest.BEGINNING_SHARE * seconds + work.one_by_one


def test_what_a_lay_begins_with_is_left_out_where_its_time_is_over(work: Work):
    """Beside twenty seconds of the engine it has two; at normal effort half as much as the engine."""
    work.side_by_side = 1.5
    lay(TAPERS, Effort.NORMAL, Search(cpu_seconds=20.0))
    assert work.done == ["beside", "beside"]
    work.done, work.side_by_side = [], 1.3
    lay(TAPERS, Effort.NORMAL)
    assert work.done == ["beside"]
    assert work.engine == nest.cpu_seconds(TAPERS, Effort.NORMAL)


def test_putting_pieces_down_one_by_one_asks_whether_to_stop_at_each_of_them():
    albano = open_instance(NESTING / "albano.json")
    copies = sum(piece.copies for piece in albano.pieces)
    stop = CountedStop(left=copies // 2)
    with pytest.raises(OverError):
        bottom_left(albano, Watch(stop=stop))
    assert stop.left == -1
    with pytest.raises(OverError):
        bottom_left(albano, Watch().within(0.0))


def test_rows_of_long_pieces_ask_often_and_end_with_what_they_have():
    never = CountedStop(left=10**9)
    list(beside(TAPERS, [1], watch=Watch(stop=never)))
    assert 10**9 - never.left >= STEPS // LOOK_STEPS
    (placements,) = beside(TAPERS, [1], watch=Watch(stop=CountedStop(left=1)))
    assert len(placements) == TAPER.copies


def test_how_much_is_begun_is_counted_and_not_timed(monkeypatch: pytest.MonkeyPatch):
    """So that the same time gives the same rows however fast the processor is just then."""
    asked: list[tuple[list[int], int]] = []

    def noted(
        problem: LayProblem, seeds: Iterable[int], *, steps: int, watch: Watch
    ) -> Iterator[tuple[Placement, ...]]:
        asked.append((list(seeds), steps))
        return iter(())

    monkeypatch.setattr(beginnings, "beside", noted)
    rows = plan_of(TAPERS, row_lay(TAPERS)[1], "rows")
    for seconds in (0.01, 0.1, 0.5, 100.0):
        begun(TAPERS, rows, seed=20, seconds=seconds, watch=Watch())
    counts = [(len(seeds), steps) for seeds, steps in asked]
    assert counts == sorted(counts)
    assert counts[0] == (1, STEPS / 4)
    assert counts[-1] == (SEEDS, STEPS)
    assert asked[-1][0] == list(range(20, 20 + SEEDS))


def test_pushing_together_asks_before_each_programme_and_ends_with_what_is_true():
    albano = open_instance(NESTING / "albano.json")
    outlines = [row.outline for row in row_lay(albano)[1]]
    never = CountedStop(left=10**9)
    whole = compacted(outlines, width=albano.width, spacing=0.0, watch=Watch(stop=never))
    assert 10**9 - never.left > 10
    part = compacted(outlines, width=albano.width, spacing=0.0, watch=Watch(stop=CountedStop(left=4)))
    lengths = [max(x for outline in lying for x, _ in outline) for lying in (whole, part, outlines)]
    assert lengths == sorted(lengths)
    plan = lay(albano, Effort.NONE)
    rows = tuple(replace(row, outline=outline) for row, outline in zip(row_lay(albano)[1], part, strict=True))
    assert lay_faults(albano, replace(plan, placements=rows, length=lengths[1])) == ()


def matched(copies: int) -> LayProblem:
    piece = replace(RECTANGLE, copies=copies)
    return LayProblem(width=100.0, pieces=(piece,), spacing=0.0, repeat=Repeat(along=40.0, across=30.0))


@pytest.mark.parametrize("stop", [None, CountedStop(left=4)], ids=["time is over", "asked to stop"])
def test_a_matched_lay_is_there_in_any_case_and_soon(stop: CountedStop | None):
    """Rectangles are their own boxes: three across, two repeats for each row of them, as by hand."""
    problem = matched(6)
    plan = lay_on_given_cloth(
        problem,
        Effort.NORMAL,
        plain=in_rows,
        budget=Budget(seconds=3600.0 if stop else 0.0, is_for_all=True),
        seed=20,
        stop=stop,
    )
    assert given_cloth_faults(problem, plan) == ()
    assert plan.length == pytest.approx(130)
    assert plan.ended_early == (stop is not None)


@pytest.mark.parametrize("seconds", [1.0, 2.0, 30.0])
@pytest.mark.parametrize("worth", [0.0, 60.0, 99.0, 140.0])
def test_what_may_use_remnants_costs_no_more_whatever_time_it_is_given(seconds: float, worth: float):
    """An engine whose lays are the shorter the longer it searches: the roll alone has all that it would have without remnants."""
    problem = LayProblem(width=40.0, pieces=(replace(RECTANGLE, copies=8),), spacing=0.0)
    asked: list[float] = []

    def slow(problem: LayProblem, part: float) -> LayPlan:
        asked.append(part)
        plan = exact_rows(problem)
        return replace(plan, length=plan.length + 10 / part)

    with_one = replace(problem, remnants=(Remnant(width=40.0, length=100.0, worth=worth),))
    plan = lay_on_given_cloth(
        with_one, Effort.NORMAL, plain=slow, budget=Budget(seconds=seconds, is_for_all=True), seed=20
    )
    assert asked[0] == seconds
    assert sum(asked[1:]) <= seconds / 2
    assert cost_of(with_one, plan) <= slow(problem, seconds).length + 1e-6


def test_where_there_is_no_time_for_another_search_the_rest_is_what_the_roll_had_of_it():
    """Eight rectangles, two by two, take 200; on a remnant lie four, and the other four are pushed together on the roll."""
    problem = LayProblem(
        width=40.0,
        pieces=(replace(RECTANGLE, copies=8),),
        spacing=0.0,
        remnants=(Remnant(width=40.0, length=100.0, worth=50.0),),
    )
    asked: list[float] = []

    def once(problem: LayProblem, part: float) -> LayPlan:
        asked.append(part)
        return exact_rows(problem)

    plan = lay_on_given_cloth(problem, Effort.NORMAL, plain=once, budget=Budget(seconds=1.0, is_for_all=True), seed=20)
    assert len(asked) == 1
    assert plan.length == pytest.approx(100, abs=1e-3)
    assert cost_of(problem, plan) == pytest.approx(150, abs=1e-3)
