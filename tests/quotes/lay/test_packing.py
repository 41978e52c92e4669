"""Searches that end for every reason: what was found by then stands, and how they ended is said."""

import os
import resource
import select
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from support_lays import open_instance

from quotes.lay import beginnings, nest, packing
from quotes.lay.check import lay_faults
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem
from quotes.lay.nest import Search, lay
from quotes.lay.packing import Ended, PackedLay, PackedPiece

PROJECT = Path(__file__).parents[3]
ALBANO = open_instance(PROJECT / "fixtures" / "nesting" / "albano.json")
ASKS = """
import subprocess
from quotes.lay import packing
start = subprocess.Popen
def noted(*args, **kwargs):
    process = start(*args, **kwargs)
    print(process.pid, flush=True)
    return process
packing.subprocess.Popen = noted
item = packing.PackedItem(outline=((0, 0), (40, 0), (0, 30)), copies=40, rotations=(0, 180))
packing.pack([item], width=100, cpu_seconds=600, workers=1, seed=1, is_enough=lambda lay: False)
"""


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[subprocess.Popen[bytes]]:
    """The processes that were started."""
    processes = []
    start = subprocess.Popen

    def noted(*args: Any, **kwargs: Any) -> subprocess.Popen[bytes]:
        processes.append(start(*args, **kwargs))
        return processes[-1]

    monkeypatch.setattr(packing.subprocess, "Popen", noted)
    return processes


def used() -> float:
    """Seconds of the processor that ended processes took, as the kernel counts them (getrusage)."""
    taken = resource.getrusage(resource.RUSAGE_CHILDREN)
    return taken.ru_utime + taken.ru_stime


def is_true_and_shorter_than_rows(problem: LayProblem, plan: LayPlan) -> bool:
    return not lay_faults(problem, plan) and plan.length < lay(problem, Effort.NONE).length


def test_each_shorter_lay_is_told_and_the_last_is_no_shorter_than_what_comes_of_it():
    told: list[float] = []
    plan = lay(ALBANO, Effort.QUICK, Search(on_progress=told.append))
    assert told
    assert told == sorted(set(told), reverse=True)
    assert plan.length <= told[-1]
    assert plan.method == "packed"
    assert is_true_and_shorter_than_rows(ALBANO, plan)


def test_a_search_ends_when_its_time_of_the_processor_is_spent():
    """It is looked at twenty times a second, on two processors or more."""
    before = used()
    lay(ALBANO, Effort.THOROUGH, Search(cpu_seconds=1.5))
    assert used() - before < 1.5 + 1


def test_a_search_that_is_stopped_keeps_what_it_found():
    asked = threading.Event()
    plan = lay(ALBANO, Effort.THOROUGH, Search(on_progress=lambda _: asked.set(), stop=asked))
    assert plan.method == "stopped"
    assert plan.ended_early
    assert is_true_and_shorter_than_rows(ALBANO, plan)


def test_a_search_that_is_stopped_before_it_found_anything_leaves_rows(started: list[subprocess.Popen[bytes]]):
    asked = threading.Event()
    asked.set()
    plan = lay(ALBANO, Effort.THOROUGH, Search(stop=asked))
    assert plan.length == lay(ALBANO, Effort.NONE).length
    assert plan.ended_early
    assert not plan.has_failed
    assert [process.returncode for process in started] == [-9]


def test_what_a_killed_process_had_found_stands_and_is_marked(started: list[subprocess.Popen[bytes]]):
    plan = lay(ALBANO, Effort.THOROUGH, Search(on_progress=lambda _: started[0].kill()))
    assert plan.method == "cut short"
    assert plan.ended_early
    assert not plan.has_failed
    assert is_true_and_shorter_than_rows(ALBANO, plan)


def test_the_engine_stands_back_for_others_when_it_is_to(started: list[subprocess.Popen[bytes]]):
    """As the kernel says (getpriority); 19 is the farthest."""
    seen: list[int] = []
    looked = threading.Event()

    def look(length: float) -> None:
        seen.append(os.getpriority(os.PRIO_PROCESS, started[0].pid))
        looked.set()

    lay(ALBANO, Effort.THOROUGH, Search(niceness=19, on_progress=look, stop=looked))
    assert set(seen) == {19}


def test_an_engine_ends_whose_asker_is_no_more():
    """What asks says the number of the engine's process, and is killed; the engine has ten minutes."""
    with subprocess.Popen([sys.executable, "-c", ASKS], stdout=subprocess.PIPE, cwd=PROJECT) as asker:
        assert asker.stdout
        engine = int(asker.stdout.readline())
        watching = os.pidfd_open(engine)
        asker.kill()
    try:
        assert select.select([watching], [], [], 60)[0]
    finally:
        os.close(watching)


def test_a_search_without_memory_has_failed(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(packing, "MOST_MEMORY_BYTES", 1 << 20)
    plan = lay(ALBANO, Effort.QUICK)
    assert plan.method == "failed"
    assert plan.ended_early
    assert plan.length == lay(ALBANO, Effort.NONE).length


def test_what_was_filled_stands_where_the_engine_gives_nothing_that_is_true(monkeypatch: pytest.MonkeyPatch):
    """Five halves of squares of 10, by hand: in rows 50, filled two by two 30; the engine lays them one upon the other."""
    half = LayPiece(label="half", outline=((0, 0), (10, 0), (0, 10)), copies=5)
    problem = LayProblem(width=10.0, pieces=(half,), spacing=0.0, row_gap=0.0)
    heap = PackedLay(length=10.0, pieces=(PackedPiece(item=0, turn=0.0, x=0.0, y=0.0),) * 5)
    monkeypatch.setattr(beginnings, "beside", lambda *args, **kwargs: iter(()))

    def ends(how: Ended, told: list[PackedLay]) -> str:
        def packed(*args: object, is_enough: Callable[[PackedLay], bool], **kwargs: object) -> Ended:
            for each in told:
                is_enough(each)
            return how

        monkeypatch.setattr(nest, "pack", packed)
        plan = lay(problem, Effort.QUICK)
        assert plan.length == pytest.approx(30)
        return plan.method

    assert ends(Ended.SEARCH, [heap]) == ends(Ended.BUDGET, [heap]) == "filled"
    assert ends(Ended.BUDGET, []) == ends(Ended.FAULT, [heap]) == "cut short"


def test_a_process_that_is_stuck_is_ended_by_the_clock(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(packing, "STARTING_SECONDS", 0.0)
    monkeypatch.setattr(packing, "CLOCK_TIMES", 0)
    assert lay(ALBANO, Effort.THOROUGH).has_failed


def test_lays_that_cannot_be_shorter_end_at_once(started: list[subprocess.Popen[bytes]]):
    """The first by its rows, the second, whose tallest piece decides, by wedges side by side: both without the engine."""
    square = LayPiece(label="a", outline=((0, 0), (50, 0), (50, 50), (0, 50)), copies=3)
    beside = LayProblem(width=200.0, spacing=2.0, pieces=(square,))
    plan = lay(beside, Effort.THOROUGH)
    assert (plan.method, plan.length, started) == ("rows", 50.0, [])
    wedge = LayPiece(label="wedge", outline=((0, 0), (100, 0), (100, 60)), copies=4)
    turned = LayProblem(width=150.0, spacing=2.0, pieces=(wedge,))
    assert lay(turned, Effort.NONE).length > 101
    plan = lay(turned, Effort.THOROUGH, Search(cpu_seconds=30))
    assert plan.length == pytest.approx(100, rel=1e-6)
    assert (plan.method, started) == ("beside", [])


def test_lays_of_the_engine_that_are_not_true_are_never_shown(monkeypatch: pytest.MonkeyPatch):
    """One piece is left out of each."""
    monkeypatch.setattr("quotes.lay.nest._placed", lambda problem, pieces: lay(problem, Effort.NONE).placements[1:])
    plan = lay(ALBANO, Effort.QUICK)
    assert plan.has_failed
    assert not lay_faults(ALBANO, plan)
