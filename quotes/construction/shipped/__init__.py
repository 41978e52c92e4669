"""The constructions that the trade uses, one file each; `two-layer` is the default."""

import json
from functools import cache
from importlib import resources

from quotes.construction.construction import Construction
from quotes.construction.construction_json import read_construction

__all__ = ["DEFAULT", "shipped", "shipped_codes"]

DEFAULT = "two-layer"
_CODES = (DEFAULT, "single-layer", "welt", "fused", "three-layer")


def shipped_codes() -> tuple[str, ...]:
    """Return the codes of all shipped constructions, the default first."""
    return _CODES


@cache
def shipped(code: str) -> Construction:
    """Return a shipped construction. Raises KeyError for a code that is not shipped."""
    if code not in _CODES:
        raise KeyError(code)
    text = resources.files(__name__).joinpath(f"{code}.json").read_text(encoding="utf-8")
    return read_construction(json.loads(text))
