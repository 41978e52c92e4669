"""Money: exact decimals in Python, whole minor units at rest, one place that rounds and one that splits.

Words: *minor unit* is the smallest coin of a currency (a cent; a yen; a fils), *digits* the number of decimals
that makes (ISO 4217: 2, 0, 3), *rule* how a half is rounded. Amounts carry their currency by context: one document,
one currency.
"""

import decimal
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_DOWN, ROUND_HALF_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal
from enum import StrEnum
from functools import cache

from babel.core import get_global
from babel.numbers import get_currency_precision

__all__ = ["Currency", "RoundingRule", "currency_of", "nearest", "split", "split_whole"]


class RoundingRule(StrEnum):
    """How an amount between two minor units is rounded; the tax law of the place decides which."""

    HALF_UP = "half-up"
    HALF_DOWN = "half-down"
    HALF_EVEN = "half-even"
    DOWN = "down"

    @property
    def decimal_mode(self) -> str:
        """The name that `decimal` gives this rule."""
        return {
            RoundingRule.HALF_UP: ROUND_HALF_UP,
            RoundingRule.HALF_DOWN: ROUND_HALF_DOWN,
            RoundingRule.HALF_EVEN: ROUND_HALF_EVEN,
            RoundingRule.DOWN: ROUND_DOWN,
        }[self]


@dataclass(frozen=True, slots=True, kw_only=True)
class Currency:
    """A currency and the number of decimals of its minor unit (ISO 4217)."""

    code: str
    digits: int

    @property
    def minor_unit(self) -> Decimal:
        """The smallest amount, for instance `Decimal("0.01")`."""
        return Decimal(1).scaleb(-self.digits)

    def round(self, amount: Decimal, rule: RoundingRule = RoundingRule.HALF_UP) -> Decimal:
        """Return `amount` rounded to whole minor units, with exactly `digits` decimals.

        >>> currency_of("EUR").round(Decimal("2.685"))
        Decimal('2.69')
        >>> currency_of("JPY").round(Decimal("1030.5"))
        Decimal('1031')
        """
        with decimal.localcontext(prec=60):
            return amount.quantize(self.minor_unit, rounding=rule.decimal_mode)

    def is_exact(self, amount: Decimal) -> bool:
        """Tell whether `amount` is a whole number of minor units."""
        return amount == self.round(amount, RoundingRule.DOWN)

    def to_minor(self, amount: Decimal) -> int:
        """Return `amount` in whole minor units. Raises ValueError where it is not a whole number of them."""
        if not self.is_exact(amount):
            raise ValueError(f"{amount} has more than {self.digits} decimals.")
        return int(amount.scaleb(self.digits))

    def from_minor(self, minor: int) -> Decimal:
        """Return the amount that is `minor` minor units."""
        return Decimal(minor).scaleb(-self.digits)


@cache
def currency_of(code: str) -> Currency:
    """Return the currency of an ISO 4217 code. Raises ValueError for a code that ISO 4217 lacks.

    The decimals are those of CLDR, which agrees with ISO 4217.
    """
    if code not in get_global("all_currencies"):
        raise ValueError(f"{code!r} is no ISO 4217 currency code.")
    return Currency(code=code, digits=get_currency_precision(code))


def nearest(dividend: int, divisor: int) -> int:
    """Return a quotient as the nearest whole number, halves away from zero; the divisor is above zero.

    >>> nearest(200, 3), nearest(5, 2), nearest(-5, 2)
    (67, 3, -3)
    """
    whole = (2 * abs(dividend) + divisor) // (2 * divisor)
    return whole if dividend >= 0 else -whole


def split_whole(whole: int, weights: Sequence[Decimal]) -> tuple[int, ...]:
    """Split a whole number by `weights` into whole parts that add up to it.

    Args:
        whole: so many of what is not divided further: minor units, minutes; may be negative.
        weights: each >= 0, at least one > 0.

    Returns:
        One part per weight. Largest-remainder method (Hamilton); ties go to the earliest.

    Source: Hamilton (Hare–Niemeyer) apportionment.

    >>> split_whole(10, [Decimal(1), Decimal(1), Decimal(1)])
    (4, 3, 3)
    """
    with decimal.localcontext(prec=60):
        total_weight = sum(weights, Decimal(0))
        if total_weight <= 0 or any(weight < 0 for weight in weights):
            raise ValueError("Weights are zero or more, and at least one is more than zero.")
        exact = [abs(whole) * weight / total_weight for weight in weights]
    floors = [int(share) for share in exact]
    by_remainder = sorted(range(len(weights)), key=lambda index: (floors[index] - exact[index], index))
    for index in by_remainder[: abs(whole) - sum(floors)]:
        floors[index] += 1
    return tuple(-part if whole < 0 else part for part in floors)


def split(amount: Decimal, weights: Sequence[Decimal], currency: Currency) -> tuple[Decimal, ...]:
    """Split `amount` by `weights` into parts that add up to it to the minor unit.

    Args:
        amount: a whole number of minor units; may be negative.
        weights: each >= 0, at least one > 0.

    Returns:
        One part per weight, by largest remainder as `split_whole`.

    Source: Fowler, Patterns of Enterprise Application Architecture, Money.

    >>> [str(part) for part in split(Decimal("100.00"), [Decimal(1)] * 3, currency_of("EUR"))]
    ['33.34', '33.33', '33.33']
    """
    return tuple(currency.from_minor(part) for part in split_whole(currency.to_minor(amount), weights))
