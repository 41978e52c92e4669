"""Searches that stand back for other programs: niceness as the kernel has it, thread by thread (setpriority, sched)."""

import os
import threading

import pytest

from quotes.lay.lay_plan import Effort, LayPiece, LayProblem, Repeat
from quotes.lay.laying import laid
from quotes.lay.nest import Search
from quotes.lay.standing_back import standing_back

SQUARE = LayPiece(label="a", outline=((0, 0), (10, 0), (10, 10), (0, 10)), copies=3)
MATCHED = LayProblem(width=30.0, pieces=(SQUARE,), spacing=0.0, repeat=Repeat(along=8.0))


def niceness() -> int:
    return os.getpriority(os.PRIO_PROCESS, threading.get_native_id())


@pytest.mark.parametrize("asked", [0, 7])
def test_all_work_of_a_search_stands_back_and_who_asked_does_not(asked: int):
    before = niceness()
    assert standing_back(Search(niceness=asked), lambda _: niceness()) == max(before, asked)
    assert niceness() == before


def test_matched_cloth_too_is_told_of_and_stopped_by_who_asked():
    """The hour that the search may take is not taken; lengths are told in the thread that asked."""
    told: list[tuple[float, int]] = []
    asked = threading.Event()

    def note(length: float) -> None:
        told.append((length, threading.get_native_id()))
        asked.set()

    plan = laid(MATCHED, Effort.NORMAL, seconds=3600, search=Search(niceness=19, on_progress=note, stop=asked))
    assert plan.method == "stopped"
    assert told == [(plan.length, threading.get_native_id())]


def test_a_search_without_a_listener_ends_like_any_other():
    assert laid(MATCHED, Effort.NONE, search=Search(niceness=19)).length == pytest.approx(10)


def test_a_fault_of_the_search_is_told():
    def fails(_: Search) -> float:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        standing_back(Search(niceness=19), fails)
