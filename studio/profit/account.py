"""The account of a finished piece: what it earned, and the bridge from what was quoted.

profit = net − fee − materials − spoiled − hours × labour rate − hours × overhead rate − extras, where labour and overhead
are each rounded once, on all hours. Contingency is quoted as a cost and never is one.
"""

import decimal
from collections.abc import Iterable, Sequence
from decimal import Decimal

from inventory.ground.money import Currency, split
from studio.profit.bridge import bridge
from studio.profit.causes import cause_costs
from studio.profit.piece import Account, Actual, Quoted, Unlogged

__all__ = ["account"]

_ZERO = Decimal(0)


def account(quoted: Quoted, actual: Actual) -> Account:
    """Return what a piece earned.

    Raises:
        ValueError: an amount finer than the currency's minor unit, hours below zero, or a cause that is not known.
    """
    currency = quoted.currency
    _must_be_exact(quoted, actual)
    hours = actual.hours_of_rows
    if any(spent < 0 for spent in hours):
        raise ValueError("An operation has hours below zero.")
    operations = len(actual.hours)
    with decimal.localcontext(prec=50):
        worked = sum(hours, _ZERO)
        labour = currency.round(worked * actual.labour_rate)
        overhead = currency.round(worked * actual.overhead_rate)
        at_quoted_rate = currency.round(worked * quoted.labour_rate)
        overhead_at_quoted_rate = currency.round(worked * quoted.overhead_rate)
        costs = cause_costs(
            actual,
            _by_hours(labour, hours, currency)[operations:],
            _by_hours(overhead, hours, currency)[operations:],
        )
        lines = bridge(
            quoted,
            actual,
            labour=labour,
            labour_at_quoted_rate=_by_hours(at_quoted_rate, hours, currency),
            overhead=overhead,
            overhead_at_quoted_rate=overhead_at_quoted_rate,
        )
    return Account(
        currency=currency,
        net=actual.net,
        fee=actual.fee,
        materials=sum((row.value for row in actual.materials), _ZERO),
        spoiled=sum((row.value for row in actual.spoiled), _ZERO),
        labour=labour,
        overhead=overhead,
        extras=sum((row.amount for row in actual.extras), _ZERO),
        hours=worked,
        rework_hours=sum(hours[operations:], _ZERO),
        quoted_hours=sum((row.hours for row in quoted.operations), _ZERO),
        missing_hours=sum((row.hours for row in actual.hours if row.unlogged is Unlogged.MISSING), _ZERO),
        quoted_profit=quoted.profit,
        bridge=lines,
        cause_costs=costs,
    )


def _by_hours(amount: Decimal, hours: Sequence[Decimal], currency: Currency) -> tuple[Decimal, ...]:
    """Each row's part of an amount, by largest remainder as the quote splits its labour."""
    return split(amount, hours, currency) if any(hours) else (_ZERO,) * len(hours)


def _must_be_exact(quoted: Quoted, actual: Actual) -> None:
    for amount in _amounts(quoted, actual):
        if not quoted.currency.is_exact(amount):
            raise ValueError(f"{amount} is finer than the minor unit of {quoted.currency.code}.")


def _amounts(quoted: Quoted, actual: Actual) -> Iterable[Decimal]:
    yield from (quoted.net, quoted.fee, quoted.overhead, quoted.contingency, actual.net, actual.fee, actual.discount)
    for material in quoted.materials:
        yield material.amount
    for operation in quoted.operations:
        yield operation.amount
    for named in (*quoted.extras, *actual.change_orders, *actual.extras, *actual.credits):
        yield named.amount
    for used in actual.materials:
        yield used.value
    for spoiled in actual.spoiled:
        yield spoiled.value
