"""One plain call of the packing engine, in a process of its own: `lays.py` holds its lays against this one.

Reads {"width", "seconds", "workers", "seed", "items": [{"outline", "copies", "rotations"}]} on standard input and answers
with {"cpu_seconds", "placed": [[item, x, y, degrees]]}. The seconds asked for are the clock's, as the engine has it;
those told are of the processor, without starting.
"""

import json
import sys
import time

import spyrrow


def main() -> None:
    """Answer one request."""
    request = json.load(sys.stdin)
    items = [
        spyrrow.Item(str(place), [tuple(point) for point in item["outline"]], item["copies"], item["rotations"])
        for place, item in enumerate(request["items"])
    ]
    # No two shapes may touch, nor a shape both edges: an exact fit needs a little more.
    instance = spyrrow.StripPackingInstance("plain", request["width"] * 1.0001, items)
    config = spyrrow.StripPackingConfig(
        total_computation_time=request["seconds"], num_workers=request["workers"], seed=request["seed"]
    )
    begun = time.process_time()
    solution = instance.solve(config)
    placed = [[int(item.id), *item.translation, item.rotation] for item in solution.placed_items]
    json.dump({"cpu_seconds": time.process_time() - begun, "placed": placed}, sys.stdout)


if __name__ == "__main__":
    main()
