"""The constructions that the trade uses: every JSON file of this folder is one; `two-layer` is the default."""

import json
from functools import cache
from pathlib import Path

from quotes.construction.construction import Construction
from quotes.construction.construction_json import read_construction

__all__ = ["DEFAULT", "shipped", "shipped_codes"]

DEFAULT = "two-layer"
_FOLDER = Path(__file__).parent


@cache
def shipped_codes() -> tuple[str, ...]:
    """Return the codes of all shipped constructions, the default first, then those of few layers before those of many."""
    codes = sorted(path.stem for path in _FOLDER.glob("*.json"))
    return tuple(sorted(codes, key=lambda code: (code != DEFAULT, len(shipped(code).layers))))


@cache
def shipped(code: str) -> Construction:
    """Return a shipped construction. Raises KeyError for a code that is not shipped."""
    if code not in {path.stem for path in _FOLDER.glob("*.json")}:
        raise KeyError(code)
    return read_construction(json.loads((_FOLDER / f"{code}.json").read_text(encoding="utf-8")))
