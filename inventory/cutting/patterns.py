"""Ways of cutting one piece of a stock (patterns), all of them where they are few enough."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from fractions import Fraction
from math import gcd, lcm

from inventory.cutting.problem import CutProblem, Fit, Stock, Want

__all__ = [
    "Pattern",
    "Usable",
    "all_patterns",
    "bulk_fits",
    "cost_step",
    "least_cost",
    "length_step",
    "pattern_of",
    "usable",
    "whole_patterns",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Usable:
    """A stock with the fits by which it can serve: those that are long enough, for wants that are wanted.

    Attributes:
        pieces: fits by which pieces are cut, each with its want, longest first.
        wholes: fits by which it serves as it is, each with its want.
    """

    stock: Stock
    pieces: tuple[tuple[Fit, Want], ...]
    wholes: tuple[tuple[Fit, Want], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """What is made of one piece of a stock.

    Attributes:
        pieces: each fit with how many pieces are made by it.
        cost: of one piece of stock cut so, set-ups left out.
        most: how often wants and stock allow it.
    """

    stock: Stock
    pieces: tuple[tuple[Fit, int], ...]
    rest: int
    waste: int
    cost: Decimal
    most: int


def usable(problem: CutProblem) -> tuple[Usable, ...]:
    """Return the stocks that can serve something, in their order."""
    wants = {want.code: want for want in problem.wants}
    found = []
    for stock in problem.stocks:
        fits = [(fit, wants[fit.want]) for fit in problem.fits if fit.stock == stock.code and wants[fit.want].count]
        pieces = [
            pair for pair in fits if not pair[0].as_it_is and (stock.length is None or pair[1].length <= stock.length)
        ]
        wholes = [pair for pair in fits if pair[0].as_it_is]
        if stock.count != 0 and (pieces or wholes):
            pieces.sort(key=lambda pair: -pair[1].length)
            found.append(Usable(stock=stock, pieces=tuple(pieces), wholes=tuple(wholes)))
    return tuple(found)


def pattern_of(stock: Stock, pieces: Sequence[tuple[Fit, int]], wants: Mapping[str, Want], kerf: int) -> Pattern:
    """Return a piece of stock cut into these pieces, or serving as it is where the one fit says so."""
    length = stock.length or 0
    most = min(wants[fit.want].count // number for fit, number in pieces)
    rest = kept = waste = 0
    with localcontext(prec=60):
        cost = stock.cost + sum((fit.cost * number for fit, number in pieces), Decimal(0))
        if not pieces[0][0].as_it_is:
            wanted = sum(wants[fit.want].length * number for fit, number in pieces)
            rest = max(0, length - wanted - kerf * sum(number for _, number in pieces))
            kept = rest if rest >= stock.keep_length else 0
            waste = length - wanted - kept
            cost -= stock.rest_worth * kept
    most = most if stock.count is None else min(most, stock.count)
    return Pattern(stock=stock, pieces=tuple(pieces), rest=rest, waste=waste, cost=cost, most=most)


def bulk_fits(stocks: Sequence[Usable]) -> list[tuple[Stock, Fit, Want]]:
    """Return each coil or roll with each fit by which pieces come off it, and their want."""
    return [(of.stock, fit, want) for of in stocks if of.stock.is_bulk for fit, want in of.pieces]


def whole_patterns(of: Usable, wants: Mapping[str, Want]) -> list[Pattern]:
    """Return its pieces serving as they are."""
    return [pattern_of(of.stock, [(fit, 1)], wants, 0) for fit, _ in of.wholes]


def all_patterns(stocks: Sequence[Usable], *, kerf: int, limit: int) -> tuple[Pattern, ...] | None:
    """Return every pattern of stocks that are no bulk; None where there are more than `limit`."""
    patterns: list[Pattern] = []
    for of in stocks:
        if of.stock.is_bulk:
            continue
        wants = {want.code: want for _, want in (*of.pieces, *of.wholes)}
        patterns += whole_patterns(of, wants)
        ways: list[tuple[tuple[tuple[Fit, int], ...], int]] = [((), (of.stock.length or 0) + kerf)]
        for fit, want in of.pieces:
            each = want.length + kerf
            ways = [
                ((*pieces, (fit, number)) if number else pieces, room - number * each)
                for pieces, room in ways
                for number in range(min(want.count, room // each), -1, -1)
            ]
            if len(patterns) + len(ways) > limit:
                return None
        patterns += [pattern_of(of.stock, pieces, wants, kerf) for pieces, _ in ways if pieces]
    return tuple(patterns)


def cost_step(problem: CutProblem) -> Fraction:
    """Return an amount of which the cost of every plan is a whole multiple; 0 where nothing costs anything."""
    step = length_step(problem)
    amounts = [Fraction(cost) for cost in (*(fit.cost for fit in problem.fits), *problem.setups.values())]
    for stock in problem.stocks:
        amounts += [Fraction(stock.cost) * (step if stock.is_bulk else 1), Fraction(stock.rest_worth) * step]
    denominator = lcm(*(amount.denominator for amount in amounts))
    return Fraction(gcd(*(int(amount * denominator) for amount in amounts)), denominator)


def least_cost(problem: CutProblem) -> Fraction:
    """Return what no plan costs less than: 0, unless rests of a stock are worth more than it costs."""
    wanted = sum(want.count for want in problem.wants)
    gains = [
        (Fraction(stock.rest_worth) * (stock.length or 0) - Fraction(stock.cost))
        * (wanted if stock.count is None else min(wanted, stock.count))
        for stock in problem.stocks
        if not stock.is_bulk
    ]
    return -sum((gain for gain in gains if gain > 0), Fraction(0))


def length_step(problem: CutProblem) -> int:
    """Return a length of which every length is a whole multiple, 1 at least."""
    lengths = [*(stock.length or 0 for stock in problem.stocks), *(want.length for want in problem.wants)]
    return gcd(problem.kerf, *lengths) or 1
