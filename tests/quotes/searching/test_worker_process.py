"""The worker as a process: killed at any moment, started again, ended with the site.

What was asked for is done once, whatever is killed: the D of ACID (Haerder and Reuter, 1983).
"""

import json
import os
import select
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from support_processes import migrated, python, said
from support_soak import PATIENCE_SECONDS, Server

from quotes.searching.supervising import WorkerProcess


def drilled(world: dict[str, str], kills: int, workers: int) -> dict[str, object]:
    migrated(world)
    told: dict[str, object] = json.loads(
        said(python(world, "tests/support_drill.py", str(kills), str(workers)), within_seconds=600)
    )
    return told


def test_every_search_of_a_worker_that_is_killed_again_and_again_is_done(world: dict[str, str]):
    told = drilled(world, 4, 1)
    assert told["states"] == ["done"] * 3
    assert (told["kept"], told["faults"], told["early"]) == (3, 0, 0)
    assert told["met"] == 4
    assert int(str(told["attempts"])) >= 4


def test_two_workers_never_draw_one_lay_twice(world: dict[str, str]):
    told = drilled(world, 0, 2)
    assert told["states"] == ["done"] * 3
    assert (told["kept"], told["faults"], told["attempts"]) == (3, 0, 3)


def test_a_worker_ends_with_its_input(world: dict[str, str]):
    migrated(world)
    worker = python(world, "manage.py", "lay_worker", "--until-input-ends")
    wait_until((Path(world["STUDIO_DATA"]) / "lay-worker.lock").exists)
    assert said(worker) == ""


def test_the_site_has_a_worker_that_is_started_again_and_ends_with_it(world: dict[str, str]):
    migrated(world)
    server = Server(world)
    server.start()
    try:
        assert server.process is not None
        first = worker_of(server.process.pid)
        os.kill(first, 9)
        second = worker_of(server.process.pid, other_than=first)
        watching = os.pidfd_open(second)
    finally:
        server.kill()
    try:
        assert select.select([watching], [], [], PATIENCE_SECONDS)[0]
    finally:
        os.close(watching)


def test_a_worker_that_does_not_start_is_tried_again_until_the_site_ends(tmp_path: Path):
    mark = tmp_path / "marks"
    process = WorkerProcess(command=[sys.executable, "-c", f"open({str(mark)!r}, 'a').write('x')"])
    process.start()
    wait_until(lambda: mark.exists() and len(mark.read_text()) > 1)
    process.end()
    process.join(PATIENCE_SECONDS)
    assert not process.is_alive()


def test_a_worker_is_ended_that_does_not_end_by_itself(monkeypatch: pytest.MonkeyPatch, tmp_path: Path):
    monkeypatch.setattr("quotes.searching.supervising.ENDING_SECONDS", 0.0)
    ready = tmp_path / "ready"
    deaf = f"import signal; signal.signal(15, signal.SIG_IGN); open({str(ready)!r}, 'w'); signal.pause()"
    process = WorkerProcess(command=[sys.executable, "-c", deaf])
    process.start()
    wait_until(ready.exists)
    process.end()
    process.join(PATIENCE_SECONDS)
    assert not process.is_alive()


def wait_until(is_so: Callable[[], bool]) -> None:
    until = time.monotonic() + PATIENCE_SECONDS
    while not is_so():
        assert time.monotonic() < until, "Stuck."
        os.sched_yield()


def worker_of(site: int, *, other_than: int = 0) -> int:
    """The number of the process that draws lays for a site."""
    found: list[int] = []

    def look() -> bool:
        asked = subprocess.run(
            ["pgrep", "-P", str(site), "-f", "lay_worker"], capture_output=True, text=True, check=False
        )
        found[:] = [int(line) for line in asked.stdout.split() if int(line) != other_than]
        return bool(found)

    wait_until(look)
    return found[0]
