"""Hours foretold in invented workrooms, a table a kind: `make hours`, or with a number of workrooms a kind and kinds.

At 0, 5, 10, 20 and 40 jobs: the mean error of what is foretold of next pieces' whole minutes as a multiple of that of
one who knows the workroom but not the piece's luck (`known`), of a plain ratio of job totals (`ratio`) and of the
table's (`table`); the share of pieces that the range held; and over the last twenty jobs what the model says of its own
error and range against the truth, in points (`says`, `holds`).
"""

import sys
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path
from statistics import fmean

PROJECT = Path(__file__).parents[2]
sys.path[:0] = [str(PROJECT), str(PROJECT / "tests")]

from support_workrooms import KINDS  # noqa: E402  the path is set above
from support_workrooms_measured import MEASURED_AT, Figures, measured  # noqa: E402


def line(name: str, figures: dict[int, list[Figures]]) -> str:
    """One kind as a line of the table."""
    cells = []
    for after in MEASURED_AT:
        rows = figures[after]
        error, known, ratio, table = (
            fmean(getattr(row, field) for row in rows) for field in ("error", "known", "ratio", "table")
        )
        held = fmean(row.held for row in rows)
        cell = (
            f"{100 * error:5.1f}% ×{error / known:4.2f} r{error / ratio:4.2f} t{error / table:4.2f} {100 * held:4.0f}"
        )
        judged = [row for row in rows if row.says_error is not None]
        if judged:
            says = fmean(row.says_error - row.true_error for row in judged)
            holds = fmean(row.says_held - row.true_held for row in judged)
            cell += f" {100 * says:+5.1f} {100 * holds:+4.0f}"
        cells.append(cell)
    return f"{name:<25}" + " | ".join(cells)


def main(arguments: Sequence[str]) -> None:
    """Print the table."""
    count = int(arguments[0]) if arguments else 30
    kinds = [kind for kind in KINDS if not arguments[1:] or any(word in kind for word in arguments[1:])]
    pooled: dict[int, list[Figures]] = defaultdict(list)
    print(f"{'':<25}" + " | ".join(f"{after} jobs: error ×known ratio table held says holds" for after in MEASURED_AT))
    for kind in kinds:
        figures: dict[int, list[Figures]] = defaultdict(list)
        for seed in range(count):
            for after, row in measured(kind, seed).items():
                figures[after].append(row)
                pooled[after].append(row)
        print(line(kind, figures), flush=True)
    print(line("pooled", pooled))


if __name__ == "__main__":
    main(sys.argv[1:])
