"""The packing engine started in a process of its own, its lays read as they come, the process ended when its time is over.

Time is that of the processor: a busy machine takes longer by the clock and gets as good a lay. Whatever happens to the
process, the best lay that it told of stands.
"""

import contextlib
import json
import os
import selectors
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any

from inventory.ground.confined import MOST_MEMORY_BYTES
from quotes.lay.budget import Stop
from quotes.pattern.geometry import Polyline

__all__ = ["Ended", "PackedItem", "PackedLay", "PackedPiece", "pack"]

STARTING_SECONDS = 10.0
CLOCK_TIMES = 20
"""By the clock a process may live this many times its budget, and a start: then it is stuck, not busy."""
LOOK_SECONDS = 0.1
ENDING_SECONDS = 2.0
READ_BYTES = 1 << 16
FEW_ARENAS = {"MALLOC_ARENA_MAX": "2"}
"""Else the allocator takes room for each thread, which counts against the limit of memory; with one, threads wait for each other."""
_PROJECT = Path(__file__).resolve().parents[2]


class Ended(StrEnum):
    """Why a search ended."""

    SEARCH = "search"
    BUDGET = "budget"
    ENOUGH = "enough"
    STOPPED = "stopped"
    FAULT = "fault"


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedItem:
    """An outline for the engine, with how often it is placed and the turnings that are allowed, in degrees."""

    outline: Polyline
    copies: int
    rotations: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedPiece:
    """Where a copy of an item lies: turned anticlockwise about the origin by degrees, then moved."""

    item: int
    turn: float
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PackedLay:
    """A lay as the engine told of it, and its length of the strip, room around the pieces and all."""

    length: float
    pieces: tuple[PackedPiece, ...]


def pack(
    items: Sequence[PackedItem],
    *,
    width: float,
    cpu_seconds: float,
    workers: int,
    seed: int,
    is_enough: Callable[[PackedLay], bool],
    niceness: int = 0,
    stop: Stop | None = None,
) -> Ended:
    """Let the engine search within its budget, hand over each shorter lay that it finds, and return why it ended.

    Args:
        items: with the room that is to be kept around each.
        width: of the strip.
        cpu_seconds: of the processor, all workers together.
        workers: threads of the engine.
        is_enough: is handed each shorter lay and says whether the search may end with it.
        niceness: how far the process stands back for others, from 0 to 19.
        stop: asks the search to end with what it has.
    """
    request = {
        "width": width,
        "cpu_seconds": cpu_seconds,
        "workers": workers,
        "seed": seed,
        "niceness": niceness,
        "asked_by": os.getpid(),
        "memory_bytes": MOST_MEMORY_BYTES,
        "items": [{"outline": item.outline, "copies": item.copies, "rotations": item.rotations} for item in items],
    }
    try:
        process = _started(request)
    except OSError:
        return Ended.FAULT
    with process:
        try:
            for told in _told(process, time.monotonic() + STARTING_SECONDS + CLOCK_TIMES * cpu_seconds):
                if "ended" in told:
                    with contextlib.suppress(subprocess.TimeoutExpired):
                        process.wait(ENDING_SECONDS)
                    return Ended(told["ended"])
                if "placed" in told and is_enough(_lay(told)):
                    return Ended.ENOUGH
                if stop and stop.is_set():
                    return Ended.STOPPED
        finally:
            process.kill()
    return Ended.FAULT


def _lay(told: Mapping[str, Any]) -> PackedLay:
    return PackedLay(length=told["length"], pieces=tuple(PackedPiece(**row) for row in told["placed"]))


def _started(request: Mapping[str, Any]) -> subprocess.Popen[bytes]:
    process = subprocess.Popen(
        [sys.executable, "-m", "quotes.lay.packer"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, **FEW_ARENAS, "PYTHONPATH": str(_PROJECT)},
        cwd=_PROJECT,
    )
    assert process.stdin
    # A process that broke down at once reads nothing; that it tells nothing says so.
    with contextlib.suppress(BrokenPipeError), process.stdin as stdin:
        stdin.write(json.dumps(request).encode())
    return process


def _told(process: subprocess.Popen[bytes], until: float) -> Iterator[dict[str, Any]]:
    """What the process tells, line by line, and nothing again and again while it tells nothing, until its end or its time."""
    assert process.stdout
    waiting = b""
    with selectors.DefaultSelector() as selector:
        selector.register(process.stdout, selectors.EVENT_READ)
        while time.monotonic() < until:
            if not selector.select(LOOK_SECONDS):
                yield {}
                continue
            new = os.read(process.stdout.fileno(), READ_BYTES)
            if not new:
                return
            *lines, waiting = (waiting + new).split(b"\n")
            yield from map(json.loads, lines)
