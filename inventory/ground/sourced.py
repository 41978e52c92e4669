"""Defaults as data: one JSON file a floor, a section a room, each figure with its unit, its words and its source.

The question: what is assumed until the maker says better, and who says so?

A file is read strictly, when the code that needs it is imported: a figure that no field takes, a field without its
figure, a wrong type or a figure without a source is a fault of ours, and nothing starts.
"""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

__all__ = ["Sourced", "figures", "sourced"]

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sourced:
    """A figure as its file has it: `unit` and `words` say what it is, `source` who says so; none of them is empty."""

    value: object
    unit: str
    words: str
    source: str


@cache
def sourced(path: Path) -> Mapping[str, Mapping[str, Sourced]]:
    """Return the rows of a floor's file by section and name. Raises ValueError for a row that is not whole."""
    document = json.loads(path.read_text(encoding="utf-8"), object_pairs_hook=_each_once)
    document.pop("about", None)
    return {
        section: {name: _row(row, f"{section}.{name}") for name, row in rows.items()}
        for section, rows in document.items()
    }


def figures(path: Path, floor: type[T]) -> T:
    """Return the figures of a floor's file, typed.

    Args:
        floor: a dataclass with a field a section, each a dataclass with a field a figure. A figure is a whole number,
            a float, a Decimal (text in the file) or a tuple of these (a list in the file).

    Raises:
        ValueError: sections or names that are not exactly the fields, or a figure of another type than its field.
    """
    rows = sourced(path)
    return _filled(floor, rows, "the file", lambda name, section: _section(section, rows[name], name))


def _section(section: type[T], rows: Mapping[str, Sourced], where: str) -> T:
    return _filled(section, rows, where, lambda name, hint: _typed(rows[name].value, hint, f"{where}.{name}"))


def _filled(kind: type[T], said: Mapping[str, object], where: str, value: Callable[[str, Any], object]) -> T:
    """A dataclass with what `value` gives for each field, where the fields are just what was said."""
    hints = get_type_hints(kind)
    if odd := sorted(hints.keys() ^ said.keys()):
        raise ValueError(f"{kind.__name__} and {where} do not have the same figures: {', '.join(odd)}.")
    return kind(**{name: value(name, hint) for name, hint in hints.items()})


def _typed(value: object, hint: Any, place: str) -> object:
    if get_origin(hint) is tuple and isinstance(value, list):
        kinds: Sequence[Any] = get_args(hint)
        if kinds[-1] is Ellipsis:
            kinds = [kinds[0]] * len(value)
        if len(kinds) == len(value):
            return tuple(_typed(item, kind, place) for item, kind in zip(value, kinds, strict=True))
    elif isinstance(value, bool):
        pass  # to Python it is a whole number, but no figure
    elif hint is int and isinstance(value, int):
        return value
    elif hint is float and isinstance(value, int | float):
        return float(value)
    elif hint is Decimal and isinstance(value, str):
        try:
            return Decimal(value)
        except InvalidOperation:
            pass
    raise ValueError(f"{place} is {value!r}, which is no {getattr(hint, '__name__', hint)}.")


def _row(row: Mapping[str, Any], place: str) -> Sourced:
    if row.keys() != {"value", "unit", "words", "source"}:
        raise ValueError(f"{place} has {', '.join(row)}; it needs value, unit, words and source.")
    for name in ("unit", "words", "source"):
        if not isinstance(row[name], str) or not row[name].strip():
            raise ValueError(f"{place} has no {name}.")
    return Sourced(**row)


def _each_once(pairs: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError(f"A name stands twice among {', '.join(name for name, _ in pairs)}.")
    return found
