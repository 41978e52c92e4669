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
EXPLORING_SHARE = 0.8
"""Of the budget, for exploring; what is left goes to the engine's own compression, which ends with the budget."""
LOOK_SECONDS = 0.05
LONGEST_SECONDS = 86_400


def main() -> None:
    """Answer one request.

    It is {"width", "spacing", "cpu_seconds", "workers", "cores", "seed", "memory_bytes", "started", "items": [{"outline",
    "copies", "rotations"}]}: `cores` are those that its workers have, `started` when it was started by the machine's
    steady clock. Each line of the answer is {"length", "placed": [{"item", "x", "y", "turn"}]}; the last one is
    {"ended": "search", "budget" or "fault"}.
    """
    request = json.load(sys.stdin)
    _limit(request)
    progress = spyrrow.ProgressQueue()
    found: list[Any] = []
    search = Thread(target=lambda: found.append(_instance(request).solve(_config(request), progress)), daemon=True)
    search.start()
    best = math.inf
    while search.is_alive() and time.process_time() < request["cpu_seconds"]:
        search.join(LOOK_SECONDS)
        best = _tell(progress, best)
    best = _tell(progress, best)
    _line({"ended": "search" if found else "budget" if search.is_alive() else "fault"})
    os._exit(0)


def _limit(request: dict[str, Any]) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (request["memory_bytes"], request["memory_bytes"]))
    seconds = math.ceil(request["cpu_seconds"]) + 1
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _instance(request: dict[str, Any]) -> Any:
    items = [
        spyrrow.Item(str(index), [tuple(point) for point in item["outline"]], item["copies"], item["rotations"])
        for index, item in enumerate(request["items"])
    ]
    return spyrrow.StripPackingInstance("lay", request["width"] * EXACT_FIT, items)


def _config(request: dict[str, Any]) -> Any:
    # How much of a core this process got while it was starting tells how busy the machine is.
    share = min(1.0, time.process_time() / max(time.monotonic() - request["started"], 1e-3))
    rate = min(request["workers"], request["cores"]) * share
    return spyrrow.StripPackingConfig(
        early_termination=True,
        total_computation_time=None,
        exploration_time=max(1, round(EXPLORING_SHARE * request["cpu_seconds"] / rate)),
        compression_time=LONGEST_SECONDS,
        min_items_separation=request["spacing"] or None,
        num_workers=request["workers"],
        seed=request["seed"],
    )


def _tell(progress: Any, best: float) -> float:
    """Write the shortest of the new lays where it is shorter than the best before, and return the least length."""
    kinds = spyrrow.ReportType
    true = (kinds.ExplFeas, kinds.CmprFeas, kinds.Final)
    lays = [lay for kind, lay in progress.drain() if kind in true and lay.width < best]
    if not lays:
        return best
    shortest = min(lays, key=lambda lay: lay.width)
    placed = [
        {"item": int(item.id), "x": item.translation[0], "y": item.translation[1], "turn": item.rotation}
        for item in shortest.placed_items
    ]
    _line({"length": shortest.width, "placed": placed})
    return float(shortest.width)


def _line(told: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(told) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()
