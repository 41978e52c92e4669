"""An account as JSON that is kept: the figures as they came out, and what they were worked out from.

What is kept is read back as it was, whatever later versions of this program would make of the same piece.
"""

from collections.abc import Callable, Mapping
from dataclasses import fields
from decimal import Decimal
from enum import Enum
from functools import cache
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from studio.profit.piece import Account, Actual, Quoted

__all__ = ["account_of", "actual_of", "kept_document", "quoted_of"]

VERSION = 1

_Kept = TypeVar("_Kept")


def kept_document(quoted: Quoted, actual: Actual, account: Account) -> dict[str, Any]:
    """Return what is kept of a piece: `account_of`, `quoted_of` and `actual_of` read it back.

    Money, hours and quantities are decimal strings; the same piece gives the same document.
    """
    return {"version": VERSION, "account": _plain(account), "quoted": _plain(quoted), "actual": _plain(actual)}


def account_of(document: Mapping[str, Any]) -> Account:
    """Return the kept account."""
    return _read(Account, document["account"])


def quoted_of(document: Mapping[str, Any]) -> Quoted:
    """Return what was quoted."""
    return _read(Quoted, document["quoted"])


def actual_of(document: Mapping[str, Any]) -> Actual:
    """Return what happened."""
    return _read(Actual, document["actual"])


def _plain(value: Any) -> Any:
    match value:
        case Decimal():
            return f"{value:f}"
        case Enum():
            return value.value
        case tuple():
            return [_plain(row) for row in value]
        case str() | int():
            return value
        case _:
            return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}


def _read(kind: Callable[..., _Kept], data: Mapping[str, Any]) -> _Kept:
    return kind(**{name: _value(hint, data[name]) for name, hint in _hints(kind).items()})


def _value(hint: Any, data: Any) -> Any:
    if get_origin(hint) is tuple:
        inner = get_args(hint)[0]
        return tuple(_value(inner, row) for row in data)
    return _read(hint, data) if isinstance(data, dict) else hint(data)


@cache
def _hints(kind: object) -> dict[str, Any]:
    return get_type_hints(kind)
