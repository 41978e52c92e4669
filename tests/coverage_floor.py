"""Does enough of the code run in the tests? Reads what `coverage json` wrote; leaves with 1 where it does not.

The floors: of all lines and branches together, and of the branches of the pure rooms, which hold what is hard. The pure
rooms are those that `pyproject.toml` keeps Django out of.
"""

import json
import sys
import tomllib
from pathlib import Path

ALL_SHARE = 0.93
PURE_BRANCHES_SHARE = 0.94
PROJECT = Path(__file__).parents[1]


def main(report: str) -> int:
    """Print both shares, the pure modules that lack most, and say whether they are enough."""
    files = json.loads(Path(report).read_text(encoding="utf-8"))
    contracts = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]
    rooms = next(one["source_modules"] for one in contracts["contracts"] if "Django" in one["name"])
    places = tuple(place for room in rooms for place in (f"{room.replace('.', '/')}/", f"{room.replace('.', '/')}.py"))
    pure = {
        path: file["summary"]
        for path, file in files["files"].items()
        if path.startswith(places) and not path.startswith("inventory/ground/site/")
    }
    branches = sum(summary["num_branches"] for summary in pure.values())
    covered = sum(summary["covered_branches"] for summary in pure.values())
    whole = files["totals"]["percent_covered"] / 100
    print(f"Run by the tests: {whole:.1%} of lines and branches; {covered / branches:.1%} of the pure rooms' branches.")
    lacking = sorted(pure.items(), key=lambda entry: -entry[1]["missing_branches"])[:8]
    for path, summary in lacking:
        if summary["missing_branches"]:
            print(f"  {summary['missing_branches']:3} branches not run in {path}")
    if whole < ALL_SHARE or covered / branches < PURE_BRANCHES_SHARE:
        print(f"Asked for: {ALL_SHARE:.0%} and {PURE_BRANCHES_SHARE:.0%}.")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
