"""The packing process: reads one problem as JSON on standard input, answers with placements on standard output.

It stands apart because the engine can fail in ways that only the end of a process contains (it panics past
`except Exception`, and hangs after a fork); whoever started it kills it when its time is over.
"""

import json
import math
import sys

import spyrrow

SEED = 20
EXACT_FIT = 1.0001
"""The engine lets no two shapes touch, nor a shape touch both edges; so much wider the strip is said to be."""


def main() -> None:
    """Answer one request: {"width", "spacing", "seconds", "items": [{"outline", "copies", "rotations"}]}."""
    request = json.load(sys.stdin)
    items = [
        spyrrow.Item(str(index), [tuple(point) for point in item["outline"]], item["copies"], item["rotations"])
        for index, item in enumerate(request["items"])
    ]
    instance = spyrrow.StripPackingInstance("lay", request["width"] * EXACT_FIT, items)
    config = spyrrow.StripPackingConfig(
        early_termination=True,
        total_computation_time=request["seconds"],
        min_items_separation=request["spacing"] or None,
        num_workers=1,
        seed=SEED,
    )
    solution = instance.solve(config)
    placed = [
        {
            "item": int(item.id),
            "x": item.translation[0],
            "y": item.translation[1],
            "turn": math.remainder(item.rotation, 360),
        }
        for item in solution.placed_items
    ]
    json.dump(placed, sys.stdout)


if __name__ == "__main__":
    main()
