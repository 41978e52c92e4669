"""Lays of the fixture patterns: how good, how even, what they save, how the work grows with the pieces: `make bench-lays`.

Nothing here fails a build. A lay of boxes in rows is what a ruler and a list would give (common practice, no source).
"""

import argparse
import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

PROJECT = Path(__file__).parents[2]
sys.path[:0] = [str(PROJECT)]

from quotes.desk.lay_files import LayWishes, lay_order  # noqa: E402  the path is set above
from quotes.lay.lay_plan import Effort, LayProblem  # noqa: E402
from quotes.lay.laying import laid  # noqa: E402
from quotes.lay.nest import Search, lay  # noqa: E402
from quotes.pattern.drawing import ReadOptions  # noqa: E402

PATTERNS = PROJECT / "fixtures" / "patterns"
WIDTH_MM = 1340.0
GROWN = (24, 48, 96, 200)


def problem_of(name: str, layers: int) -> LayProblem:
    """The pieces of a fixture, each panel of both halves cut so often."""
    return lay_order([PATTERNS / name], LayWishes(width=WIDTH_MM, layers=layers), ReadOptions()).problem


def main() -> None:
    """Print what each part found."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--long", type=float, default=600.0, help="CPU seconds of the search that normal effort is held against"
    )
    parser.add_argument("--runs", type=int, default=10)
    asked = parser.parse_args()
    print(
        f"{'':<22}{'pieces':>7}{'rows':>8}{'normal':>9}{'long':>8}{'above':>8}{'runs apart':>12}{'saved':>8}{'seconds':>9}"
    )
    for name in ("underbust.json", "overbust.json"):
        for layers in (1, 2):
            print_pattern(name, layers, asked.long, asked.runs)
    print("\nGrowth, normal effort: mm of cloth and seconds by the clock")
    for pieces in GROWN:
        problem = grown(pieces)
        begun = time.monotonic()
        plan = laid(problem, Effort.NORMAL)
        print(
            f"{pieces:>5} pieces {plan.length:9.1f} mm, {100 * plan.density_share:5.1f} % filled, {time.monotonic() - begun:6.1f} s"
        )


def print_pattern(name: str, layers: int, long_seconds: float, runs: int) -> None:
    """One pattern: rows, normal effort several times, and a long search."""
    problem = problem_of(name, layers)
    rows = lay(problem, Effort.NONE).length
    begun = time.monotonic()
    lengths = [laid(problem, Effort.NORMAL).length for _ in range(runs)]
    seconds = (time.monotonic() - begun) / runs
    best = min(*lengths, lay(problem, Effort.THOROUGH, Search(cpu_seconds=long_seconds)).length)
    typical = statistics.median(lengths)
    print(
        f"{name:<14}{layers} layers{len(problem.pieces):>7}{rows:8.0f}{typical:9.1f}{best:8.1f}"
        f"{100 * (typical / best - 1):7.2f}%{100 * (max(lengths) / min(lengths) - 1):11.2f}%"
        f"{100 * (1 - typical / rows):7.1f}%{seconds:9.1f}",
        flush=True,
    )


def grown(pieces: int) -> LayProblem:
    """So many pieces of the underbust, its panels in turn."""
    whole = problem_of("underbust.json", 2)
    count = len(whole.pieces)
    return replace(
        whole,
        pieces=tuple(
            replace(whole.pieces[index % count], label=f"{whole.pieces[index % count].label}-{index // count}")
            for index in range(pieces)
        ),
    )


if __name__ == "__main__":
    main()
