"""Searches that end for every reason: what was found by then stands, and how they ended is said."""

import resource
import subprocess
import threading
from pathlib import Path
from typing import Any

import pytest
from support_lays import open_instance

from quotes.lay import packing
from quotes.lay.check import lay_faults
from quotes.lay.lay_plan import Effort, LayPiece, LayPlan, LayProblem
from quotes.lay.nest import Search, lay

ALBANO = open_instance(Path(__file__).parents[3] / "fixtures" / "nesting" / "albano.json")


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


def test_a_search_without_memory_has_failed(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(packing, "MOST_MEMORY_BYTES", 1 << 20)
    plan = lay(ALBANO, Effort.QUICK)
    assert plan.method == "failed"
    assert plan.ended_early
    assert plan.length == lay(ALBANO, Effort.NONE).length


def test_a_process_that_is_stuck_is_ended_by_the_clock(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(packing, "STARTING_SECONDS", 0.0)
    monkeypatch.setattr(packing, "CLOCK_TIMES", 0)
    assert lay(ALBANO, Effort.THOROUGH).has_failed


def test_lays_that_cannot_be_shorter_end_at_once(started: list[subprocess.Popen[bytes]]):
    """The first by its rows, without the engine; the second, whose tallest piece decides, as soon as it is found."""
    square = LayPiece(label="a", outline=((0, 0), (50, 0), (50, 50), (0, 50)), copies=3)
    beside = LayProblem(width=200.0, spacing=2.0, pieces=(square,))
    plan = lay(beside, Effort.THOROUGH)
    assert (plan.method, plan.length, started) == ("rows", 50.0, [])
    wedge = LayPiece(label="wedge", outline=((0, 0), (100, 0), (100, 60)), copies=4)
    turned = LayProblem(width=150.0, spacing=2.0, pieces=(wedge,))
    assert lay(turned, Effort.NONE).length > 101
    before = used()
    plan = lay(turned, Effort.THOROUGH, Search(cpu_seconds=30))
    assert plan.length == pytest.approx(100, rel=1e-6)
    assert plan.method == "packed"
    assert used() - before < 10


def test_lays_of_the_engine_that_are_not_true_are_never_shown(monkeypatch: pytest.MonkeyPatch):
    """One piece is left out of each."""
    monkeypatch.setattr("quotes.lay.nest._placed", lambda problem, pieces: lay(problem, Effort.NONE).placements[1:])
    plan = lay(ALBANO, Effort.QUICK)
    assert plan.has_failed
    assert not lay_faults(ALBANO, plan)
