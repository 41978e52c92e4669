"""The packing process: reads one problem as JSON on standard input, writes each better lay as a line on standard output.

It stands apart because the engine can fail in ways that only the end of a process contains (it panics past
`except Exception`, hangs after a fork, cannot be cancelled, and knows no time but the clock's). Its budget is time of the
processor, so that a busy machine waits longer and gets the same; when that is spent, the process ends at once.
"""

import json
import math
import os
import resource
import sys
import time
from threading import Thread
from typing import Any

import spyrrow

EXACT_FIT = 1.0001
"""The engine lets no two shapes touch, nor a shape touch both edges; so much wider the strip is said to be."""
QUADTREE_DEPTH = 3
"""How finely the engine parts the strip to find what overlaps; with 4 it takes the same way a few hundredths slower, tried on lays of
24 to 99 pieces."""
LOOK_SECONDS = 0.05
LONGEST_SECONDS = 86_400
"""By the clock, which the engine is not to end by."""
EXPLORING_SHARE = 0.9
"""Of a long search by the clock, were all threads busy: they wait for each other an eighth of the time, so it is four fifths of the
processor's. In the rest the engine compresses what it found; twelve lays were 0.2 points less full where it explored for half.
"""
LEAST_COMPRESSED_SECONDS = 10.0
"""Shorter searches only explore: that takes the same way with the same seed, however busy the machine is."""


def main() -> None:
    """Answer one request.

    It is {"width", "cpu_seconds", "workers", "seed", "niceness", "memory_bytes", "asked_by", "items":
    [{"outline", "copies", "rotations"}]}; `asked_by` is the number of the process that asks, with which this one ends. Each
    line of the answer is {"length", "placed": [{"item", "x", "y", "turn"}]}; the last one is {"ended": "search", "budget"
    or "fault"}.
    """
    request = json.load(sys.stdin)
    _limit(request)
    progress = spyrrow.ProgressQueue()
    found: list[Any] = []
    search = Thread(target=lambda: found.append(_instance(request).solve(_config(request), progress)), daemon=True)
    # What starting takes differs with how busy the machine is, and is not counted.
    until = time.process_time() + request["cpu_seconds"]
    search.start()
    best = math.inf
    while search.is_alive() and time.process_time() < until and os.getppid() == request["asked_by"]:
        search.join(LOOK_SECONDS)
        best = _tell(progress, best)
    best = _tell(progress, best)
    _line({"ended": "search" if found else "budget" if search.is_alive() else "fault"})
    os._exit(0)


def _limit(request: dict[str, Any]) -> None:
    os.nice(request["niceness"])
    resource.setrlimit(resource.RLIMIT_AS, (request["memory_bytes"], request["memory_bytes"]))
    seconds = math.ceil(time.process_time() + request["cpu_seconds"]) + 1
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _instance(request: dict[str, Any]) -> Any:
    items = [
        spyrrow.Item(str(index), [tuple(point) for point in item["outline"]], item["copies"], item["rotations"])
        for index, item in enumerate(request["items"])
    ]
    return spyrrow.StripPackingInstance("lay", request["width"] * EXACT_FIT, items)


def _config(request: dict[str, Any]) -> Any:
    return spyrrow.StripPackingConfig(
        early_termination=True,
        quadtree_depth=QUADTREE_DEPTH,
        total_computation_time=None,
        exploration_time=_exploring_seconds(request),
        compression_time=LONGEST_SECONDS,
        num_workers=request["workers"],
        seed=request["seed"],
    )


def _exploring_seconds(request: dict[str, Any]) -> int:
    """Whole seconds by the clock, as the engine has it: on a busy machine a smaller part of the search, which ends by its own time."""
    if request["cpu_seconds"] < LEAST_COMPRESSED_SECONDS:
        return LONGEST_SECONDS
    side_by_side = min(request["workers"], os.cpu_count() or 1)
    seconds: int = round(EXPLORING_SHARE * request["cpu_seconds"] / side_by_side)
    return seconds


def _tell(progress: Any, best: float) -> float:
    """Write each new lay that is shorter than those before, and return the least length."""
    kinds = spyrrow.ReportType
    for kind, lay in progress.drain():
        if kind in (kinds.ExplFeas, kinds.CmprFeas, kinds.Final) and lay.width < best:
            best = float(lay.width)
            placed = [
                {"item": int(item.id), "turn": item.rotation, "x": item.translation[0], "y": item.translation[1]}
                for item in lay.placed_items
            ]
            _line({"length": best, "placed": placed})
    return best


def _line(told: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(told) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
