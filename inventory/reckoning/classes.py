"""Which materials deserve the closest count: the few that make up most of the yearly value.

Words: a *share* is a part of the value of all, from 0 to 1. Class A is few and dear, C many and cheap.

Source: Dickie, Factory Management and Maintenance 109, 1951, 92–94 (ABC analysis); the borders
stand among the shelf's defaults.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from inventory.ground.defaults import shelf_defaults

__all__ = ["Letter", "Ranked", "by_yearly_value"]

Letter = Literal["A", "B", "C"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """An item, its yearly value, its share of all, the share of it and all dearer ones, and its class."""

    key: str
    value: Decimal
    share: Decimal
    cumulative_share: Decimal
    letter: Letter


def by_yearly_value(values: Mapping[str, Decimal | int]) -> tuple[Ranked, ...]:
    """Return the items by falling yearly value (>= 0, one currency), ties by key, each with its class.

    Where nothing has any value, every share is 0 and every class C.

    >>> [(row.key, row.letter) for row in by_yearly_value({"tip": 6, "coutil": 80, "busk": 14})]
    [('coutil', 'A'), ('busk', 'B'), ('tip', 'B')]

    Raises:
        ValueError: a value below zero.
    """
    for key, value in values.items():
        if value < 0:
            raise ValueError(f"The yearly value of {key} is {value}, below zero.")
    total = sum(map(Decimal, values.values()), Decimal(0))
    ranked, before = [], Decimal(0)
    for key, value in sorted(values.items(), key=lambda row: (-row[1], row[0])):
        own = Decimal(value)
        ranked.append(
            Ranked(
                key=key,
                value=own,
                share=own / total if total else Decimal(0),
                cumulative_share=(before + own) / total if total else Decimal(0),
                letter=_letter(before, total),
            )
        )
        before += own
    return tuple(ranked)


def _letter(before: Decimal, total: Decimal) -> Letter:
    borders = shelf_defaults().classes
    if before < borders.a_until_share * total:
        return "A"
    return "B" if before < borders.b_until_share * total else "C"
