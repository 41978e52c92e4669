"""Patterns made as they pay, where all would be too many (Gilmore and Gomory 1961, 1963: column generation).

The program over the patterns that are known sets a price on every want. A pattern whose pieces are worth more than it
costs betters the whole; the best one of a stock is a bounded knapsack, filled by dynamic programming over the length.
Where no stock has one, the program’s cost where nothing need be whole is a bound of all plans. What that point takes
whole is set aside, and what remains of the wants is priced again, so that patterns are there for the last pieces too.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from math import floor, gcd
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from inventory.cutting.patterns import Pattern, Usable, bulk_fits, pattern_of, usable
from inventory.cutting.problem import CutProblem, Fit, Stock
from inventory.cutting.whole import Prices, Whole
from inventory.replenish.program import INFINITY, Numbers

__all__ = ["Paying", "paying_patterns"]

# A pattern pays where it betters the whole by more than this part of a cost’s unit.
PAYS = 1e-6
# Of the time, how much the bound may take; the rest is for the last pieces.
SHARE_FOR_BOUND = 0.6
# What is left over is priced until its cost is this near to its bound.
NEAR = 0.001
# Numbers this little below a whole one are meant to be it.
NEARLY = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Paying:
    """Patterns that pay.

    Attributes:
        bound: of the cost of any plan, in units of the program.
        is_short: proven that no plan serves all wants, as none does that may cut parts of pieces.
    """

    patterns: tuple[Pattern, ...]
    bound: float
    is_short: bool


def paying_patterns(problem: CutProblem, stocks: Sequence[Usable], *, seconds: float) -> Paying:
    """Return patterns of which a good plan can be made, with a bound of the best."""
    until = monotonic() + seconds
    known = _Known(problem)
    whole = _Pricing(problem, stocks, known)
    whole.run(until - (1 - SHARE_FOR_BOUND) * seconds, near=0.0)
    pricing = whole
    while pricing.prices is not None:
        left = _left(pricing, pricing.prices)
        if not any(want.count for want in left.wants):
            break
        pricing = _Pricing(left, usable(left), known)
        pricing.run(until, near=NEAR)
    return Paying(patterns=known.patterns(problem), bound=whole.bound, is_short=whole.is_short)


class _Known:
    """The patterns that were made, by their stock and the fits of their pieces."""

    def __init__(self, problem: CutProblem) -> None:
        self.kerf = problem.kerf
        self.made: dict[tuple[str, tuple[tuple[Fit, int], ...]], None] = {}

    def add(self, stock: str, pieces: Iterable[tuple[Fit, int]]) -> bool:
        """Add a pattern, and tell whether it is new."""
        key = stock, tuple(pieces)
        is_new = key not in self.made
        self.made[key] = None
        return is_new

    def patterns(self, problem: CutProblem) -> tuple[Pattern, ...]:
        """Those that this problem can use."""
        stocks = {stock.code: stock for stock in problem.stocks}
        wants = {want.code: want for want in problem.wants}
        patterns = (pattern_of(stocks[code], pieces, wants, self.kerf) for code, pieces in self.made)
        return tuple(pattern for pattern in patterns if pattern.most > 0)


class _Pricing:
    """A problem priced until no pattern pays any more.

    Attributes:
        prices: the last; None where some wants cannot be served, or time ran out before any.
        bound: of the cost in units, the best that was met.
    """

    def __init__(self, problem: CutProblem, stocks: Sequence[Usable], known: _Known) -> None:
        self.problem, self.stocks, self.known = problem, stocks, known
        self.patterns: list[Pattern] = []
        self.prices: Prices | None = None
        self.bound = -INFINITY
        self.is_short = False
        wanted = sum(want.count for want in problem.wants)
        self.most = {of.stock.code: wanted if of.stock.count is None else min(wanted, of.stock.count) for of in stocks}

    def run(self, until: float, *, near: float) -> None:
        """Make patterns: first those that serve all, then those that serve all for less.

        Args:
            near: how far above its bound the cost may stay, as a share of it.
        """
        for of in self.stocks:
            if not of.stock.is_bulk:
                for pieces in _plain(of, kerf=self.problem.kerf, most=self.most[of.stock.code]):
                    self.known.add(of.stock.code, pieces)
        self.patterns = list(self.known.patterns(self.problem))
        for may_miss in (True, False):
            while True:
                whole = Whole(self.problem, self.stocks, self.patterns, may_miss=may_miss)
                prices = whole.prices(seconds=until - monotonic())
                if prices is None:
                    return
                if may_miss and prices.cost < PAYS:
                    break
                is_any_new, bound = self._better(whole, prices, may_miss=may_miss)
                if not may_miss:
                    self.prices, self.bound = prices, max(self.bound, whole.raised(bound))
                    if not is_any_new or prices.cost - self.bound <= near * abs(prices.cost):
                        return
                elif not is_any_new:
                    self.is_short = True
                    return

    def _better(self, whole: Whole, prices: Prices, *, may_miss: bool) -> tuple[bool, float]:
        """Add the best pattern of each stock where it pays; tell whether any is new, and how low the cost can come."""
        is_any_new, bound = False, prices.cost
        for of in self.stocks:
            if of.stock.is_bulk or not of.pieces:
                continue
            unit = None if may_miss else whole.unit
            values = [
                prices.of_want[want.code]
                + prices.of_setup.get((fit.setup, want.code), 0.0)
                - (float(Fraction(fit.cost) / unit) if unit else 0.0)
                for fit, want in of.pieces
            ]
            gain, pieces = _best_cut(of, values, kerf=self.problem.kerf, unit=unit)
            gain += prices.of_stock.get(of.stock.code, 0.0)
            if gain > PAYS:
                bound -= gain * self.most[of.stock.code]
                if self.known.add(of.stock.code, pieces):
                    is_any_new = True
                    wants = {want.code: want for _, want in of.pieces}
                    self.patterns.append(pattern_of(of.stock, pieces, wants, self.problem.kerf))
        return is_any_new, bound


def _plain(of: Usable, *, kerf: int, most: int) -> Iterator[list[tuple[Fit, int]]]:
    """Patterns to begin with: one piece alone, as many alike as go in, and all wants filled in as tightly as can be."""
    for fit, _ in of.wholes:
        yield [(fit, 1)]
    for fit, want in of.pieces:
        yield [(fit, 1)]
        yield [(fit, min(want.count, ((of.stock.length or 0) + kerf) // (want.length + kerf)))]
    left = of
    while left.pieces and most:
        values = [float(want.length + kerf) for _, want in left.pieces]
        _, pieces = _best_cut(left, values, kerf=kerf, unit=None)
        yield pieces
        numbers = dict(pieces)
        after = [(fit, replace(want, count=want.count - numbers.get(fit, 0))) for fit, want in left.pieces]
        left = replace(left, pieces=tuple((fit, want) for fit, want in after if want.count))
        most -= 1


def _best_cut(
    of: Usable, values: Sequence[float], *, kerf: int, unit: Fraction | None
) -> tuple[float, list[tuple[Fit, int]]]:
    """The cut of a stock whose pieces are worth most above what it costs, and how much; without `unit`, costs are none.

    `worth[used]` is the most that pieces are worth which take exactly `used`, each with a kerf.
    """
    step = gcd(*(want.length + kerf for _, want in of.pieces))
    room = ((of.stock.length or 0) + kerf) // step
    worth: Numbers = np.full(room + 1, -INFINITY)
    worth[0] = 0.0
    taken: list[tuple[int, int, int, NDArray[np.bool_]]] = []
    for place, ((_, want), value) in enumerate(zip(of.pieces, values, strict=True)):
        each, left = (want.length + kerf) // step, want.count
        number = 1
        while value > 0 and left and number * each <= room:
            size = number * each
            with_it = worth[:-size] + number * value
            is_better = with_it > worth[size:]
            worth[size:] = np.where(is_better, with_it, worth[size:])
            taken.append((place, number, size, is_better))
            left -= number
            number = min(2 * number, left)
    gains = worth - (_costs(of.stock, step * np.arange(room + 1), unit) if unit else 0.0)
    gains[0] = -INFINITY
    used = int(np.argmax(gains))
    gain, numbers = float(gains[used]), [0] * len(of.pieces)
    for place, number, size, is_better in reversed(taken):
        if used >= size and is_better[used - size]:
            numbers[place] += number
            used -= size
    return gain, [(fit, number) for (fit, _), number in zip(of.pieces, numbers, strict=True) if number]


def _costs(stock: Stock, used: NDArray[np.int64], unit: Fraction) -> Numbers:
    """What a piece of stock costs by the length that is used of it, less what its rest is worth."""
    rests = np.maximum(0, (stock.length or 0) - used)
    kept = np.where(rests >= stock.keep_length, rests, 0)
    return float(Fraction(stock.cost) / unit) - kept * float(Fraction(stock.rest_worth) / unit)


def _left(pricing: _Pricing, prices: Prices) -> CutProblem:
    """What remains when all that the prices’ point takes whole is cut; where that is nothing, the one it takes most of."""
    problem, bulk = pricing.problem, bulk_fits(pricing.stocks)
    times, taken = ([floor(number + NEARLY) for number in numbers] for numbers in (prices.times, prices.taken))
    if not any(times) and not any(taken):
        numbers = [*prices.times, *prices.taken]
        most = numbers.index(max(numbers))
        if most < len(times):
            times[most] = 1
        else:
            taken[most - len(times)] = 1
    served, used, gone, setups = Counter[str](), Counter[str](), Counter[str](), set[str]()
    for pattern, number in zip(pricing.patterns, times, strict=False):
        used[pattern.stock.code] += number
        for fit, pieces in pattern.pieces if number else ():
            served[fit.want] += pieces * number
            setups.add(fit.setup)
    for (stock, fit, want), number in zip(bulk, taken, strict=True):
        served[fit.want] += number
        gone[stock.code] += number * (want.length + problem.kerf)
        if number:
            setups.add(fit.setup)
    return replace(
        problem,
        wants=tuple(replace(want, count=want.count - served[want.code]) for want in problem.wants),
        stocks=tuple(
            replace(
                stock,
                count=None if stock.count is None else stock.count - used[stock.code],
                length=None if stock.length is None else max(0, stock.length - gone[stock.code]),
            )
            for stock in problem.stocks
        ),
        setups={name: Decimal(0) if name in setups else cost for name, cost in problem.setups.items()},
    )
