"""How often promised days are kept in invented workrooms, a line a kind: `make promises`, or with a number of workrooms.

For the first five jobs of a workroom, the first twenty, and the next twenty: the share of days kept that hold nine times
in ten, and that of the likely days. Beside it the same for the next twenty where the hours of jobs are told to hang together
as it is learnt, whether they do or not; and as if all planned hours were worked.
"""

import sys
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from typing import Any

PROJECT = Path(__file__).parents[2]
sys.path[:0] = [str(PROJECT), str(PROJECT / "tests")]

from support_workdays import KINDS, Promised, promises  # noqa: E402  the path is set above

from studio.schedule.promise import DRAWS  # noqa: E402
from studio.schedule.worked import ALL_WORKED  # noqa: E402

JOBS = 40
AS_LEARNT = 0.2
"""What jobs are believed to have in common after twenty, as the model of hours has it in invented workrooms."""
STRETCHES = {"jobs 1–5": range(1, 6), "jobs 1–20": range(1, 21), "jobs 21–40": range(21, 41)}


def cell(jobs: Sequence[Promised]) -> str:
    """Sure and likely days kept, in percent."""
    sure = sum(job.finished <= job.day_90 for job in jobs) / len(jobs)
    likely = sum(job.finished <= job.day_50 for job in jobs) / len(jobs)
    return f"{100 * sure:9.1f} {100 * likely:6.1f}"


def main(arguments: Sequence[str]) -> None:
    """Print the table."""
    count = int(arguments[0]) if arguments else 100
    pooled: dict[str, list[Promised]] = defaultdict(list)
    others: dict[str, dict[str, Any]] = {
        "as learnt": {"told_pace_share": AS_LEARNT},
        "all worked": {"known": ALL_WORKED},
    }
    stretches = [*STRETCHES, *others]
    print(f"{count} workrooms a kind; kept of 90 % and of 50 % days, in percent")
    print(f"{'':<25}" + " | ".join(f"{name:>16}" for name in stretches))
    for kind, daily in KINDS.items():
        jobs = [job for seed in range(count) for job in promises(daily, seed, jobs=JOBS, draws=DRAWS)]
        found = {name: [job for job in jobs if job.number in numbers] for name, numbers in STRETCHES.items()}
        for name, told in others.items():
            every = [job for seed in range(count) for job in promises(daily, seed, jobs=JOBS, draws=DRAWS, **told)]
            found[name] = [job for job in every if job.number > 20]
        print(f"{kind:<25}" + " | ".join(cell(found[name]) for name in stretches), flush=True)
        for name, rows in found.items():
            pooled[name] += rows
    print(f"{'pooled':<25}" + " | ".join(cell(pooled[name]) for name in stretches))


if __name__ == "__main__":
    main(sys.argv[1:])
