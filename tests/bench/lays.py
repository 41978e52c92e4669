"""Lays of published problems beside the best published and one plain call of the engine: `make bench-lays`.

Each seed gives a pair: the plain call, and the product's lay with as much time of the processor as that call took. The plain
call's own lay is pushed together as well, which tells what that brings on the same lay. Nothing here fails a build.

After them stands what matching costs: the pieces of the block of the tests, plain and at whole repeats.

The problems lie in ../shared/nesting, or in the folder that `LAY_INSTANCES` names; where neither is there, in
fixtures/nesting.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

PROJECT = Path(__file__).parents[2]
sys.path[:0] = [str(PROJECT), str(PROJECT / "tests")]

from shapely import Polygon  # noqa: E402  the path is set above
from shapely.affinity import rotate, translate  # noqa: E402
from support_lays import BEST_PUBLISHED, open_instance  # noqa: E402
from support_patterns import block_a  # noqa: E402

from quotes.lay.check import lay_faults  # noqa: E402
from quotes.lay.compaction import compacted  # noqa: E402
from quotes.lay.lay_plan import Effort, LayPiece, LayProblem, Repeat  # noqa: E402
from quotes.lay.laying import laid_matched  # noqa: E402
from quotes.lay.nest import Search, lay  # noqa: E402
from quotes.pattern.block import draw_block  # noqa: E402
from quotes.pattern.geometry import Polyline  # noqa: E402
from quotes.takeoff.cut_pieces import cut_pieces  # noqa: E402

WORKERS = 2
REPEATS_MM = (60.0, 160.0, 320.0)
CLOTH_MM = 1400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Shares filled by a plain call, by its lay pushed together, and by the product's; and the time of each, in seconds."""

    plain: float
    pushed: float
    ours: float
    cpu_seconds: float


def pair(problem: LayProblem, seconds: float, seed: int) -> Pair:
    """Draw one problem both ways."""
    outlines, taken = plain_lay(problem, seconds, seed)
    pushed = compacted(outlines, width=problem.width, spacing=problem.spacing)
    plan = lay(problem, Effort.THOROUGH, Search(cpu_seconds=taken, workers=WORKERS, seed=seed))
    faults = lay_faults(problem, plan)
    assert not faults, faults
    return Pair(
        plain=filled(problem, outlines), pushed=filled(problem, pushed), ours=plan.density_share, cpu_seconds=taken
    )


def plain_lay(problem: LayProblem, seconds: float, seed: int) -> tuple[list[Polyline], float]:
    """The true outlines as one plain call lays them, and its time of the processor."""
    request = {
        "width": problem.width,
        "seconds": max(1, round(seconds / rate())),
        "workers": WORKERS,
        "seed": seed,
        "items": [
            {"outline": piece.outline, "copies": piece.copies, "rotations": piece.rotations} for piece in problem.pieces
        ],
    }
    done = subprocess.run(
        [sys.executable, str(PROJECT / "tests" / "bench" / "plain_engine.py")],
        input=json.dumps(request).encode(),
        stdout=subprocess.PIPE,
        check=True,
    )
    answer = json.loads(done.stdout)
    lying = [
        translate(rotate(Polygon(problem.pieces[item].outline), degrees, origin=(0, 0)), x, y)
        for item, x, y, degrees in answer["placed"]
    ]
    left, low = (min(shape.bounds[side] for shape in lying) for side in (0, 1))
    outlines = [tuple(translate(shape, -left, -low).exterior.coords[:-1]) for shape in lying]
    return outlines, answer["cpu_seconds"]


def rate() -> float:
    """How much of the processor two processes get a second on this machine just now."""
    with ProcessPoolExecutor(WORKERS) as pool:
        return sum(pool.map(share_of_a_core, [1.0] * WORKERS))


def share_of_a_core(seconds: float) -> float:
    """Be busy for so long, and return how much of the processor that got."""
    begun, used = time.monotonic(), time.process_time()
    while time.monotonic() < begun + seconds:
        pass
    return (time.process_time() - used) / (time.monotonic() - begun)


def filled(problem: LayProblem, outlines: Sequence[Polyline]) -> float:
    """The pieces' area over width times length."""
    area = sum(Polygon(outline).area for outline in outlines)
    return area / (problem.width * max(x for outline in outlines for x, _ in outline))


def mean_and_error(values: Sequence[float]) -> str:
    """The mean and its standard error, in points of a hundred."""
    error = 100 * statistics.stdev(values) / len(values) ** 0.5 if len(values) > 1 else float("nan")
    return f"{100 * statistics.fmean(values):+6.2f} ± {error:4.2f}"


def matched_pieces() -> tuple[LayPiece, ...]:
    """The pieces of the tests' block, with their waists where the repeat is to meet them."""
    pieces = []
    for piece in cut_pieces(draw_block(block_a()).pattern):
        waist = statistics.fmean(x for x, _ in piece.waist or piece.outline[:1])
        pieces.append(LayPiece(label=piece.label, outline=tuple((x - waist, y) for x, y in piece.outline)))
    return tuple(pieces)


def print_matching() -> None:
    """Print what matching costs by the repeat along the cloth."""
    print(f"{'repeat mm':<10}{'plain mm':>10}{'matched':>10}{'extra':>8}")
    for along in REPEATS_MM:
        problem = LayProblem(width=CLOTH_MM, pieces=matched_pieces(), repeat=Repeat(along=along))
        both = laid_matched(problem, Effort.NORMAL)
        print(f"{along:<10g}{both.plain.length:10.1f}{both.matched.length:10.1f}{both.extra:8.1f}", flush=True)


def main() -> None:
    """Print a line for each problem, and one for all."""
    beside = PROJECT.parent / "shared" / "nesting"
    usual = Path(os.environ.get("LAY_INSTANCES", beside if beside.is_dir() else PROJECT / "fixtures" / "nesting"))
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", help="of the problems; all that lie there unless said")
    parser.add_argument("--folder", type=Path, default=usual)
    parser.add_argument("--seconds", type=float, nargs="+", default=[20.0, 60.0], help="of the processor")
    parser.add_argument("--seeds", type=int, default=5)
    asked = parser.parse_args()
    names = asked.names or sorted(path.stem for path in asked.folder.glob("*.json"))
    print("Shares filled, percent; differences in points with their standard error.")
    print(f"{'':<10}{'CPU s':>6}{'taken':>7}{'best':>8}{'plain':>8}{'ours':>8}{'ours − plain':>17}{'plain pushed':>17}")
    for seconds in asked.seconds:
        all_pairs: list[Pair] = []
        for name in names:
            problem = open_instance(asked.folder / f"{name}.json")
            pairs = [pair(problem, seconds, seed) for seed in range(1, asked.seeds + 1)]
            print_line(name, seconds, pairs, BEST_PUBLISHED.get(name))
            all_pairs += pairs
        print_line("all", seconds, all_pairs, None)
        worse = sum(one.pushed < one.plain for one in all_pairs)
        print(f"{'':<10}pushing together made {worse} of {len(all_pairs)} plain lays longer", flush=True)
    print_matching()


def print_line(name: str, seconds: float, pairs: Sequence[Pair], best: float | None) -> None:
    """Print means of pairs."""
    taken, plain, ours = (
        statistics.fmean(getattr(one, field) for one in pairs) for field in ("cpu_seconds", "plain", "ours")
    )
    print(
        f"{name:<10}{seconds:6.0f}{taken:7.1f}{'' if best is None else f'{100 * best:.2f}':>8}"
        f"{100 * plain:8.2f}{100 * ours:8.2f}{mean_and_error([one.ours - one.plain for one in pairs]):>17}"
        f"{mean_and_error([one.pushed - one.plain for one in pairs]):>17}",
        flush=True,
    )


if __name__ == "__main__":
    main()
