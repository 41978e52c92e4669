"""Plans of small problems against every way of cutting: each piece put into each piece of stock, all tried out."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

import pytest
from support_cutting import bones_of_a_quote, drawn

from inventory.cutting import CutProblem, Fit, Stock, check_cuts, cut_plan
from inventory.ground.findings import Refused

CASES, AT_ONCE = 500, 50
Rank = tuple[Decimal, int, int]


def pieces_of_stock(problem: CutProblem) -> list[Stock]:
    """Every single piece; of what is on offer as many as there can be use for."""
    most = sum(want.count for want in problem.wants)
    return [stock for stock in problem.stocks for _ in range(most if stock.count is None else stock.count)]


def assignments(problem: CutProblem, there: list[Stock]) -> Iterator[list[tuple[int, Fit]]]:
    """Each single piece that is wanted, with the piece of stock that it comes of.

    Of assignments that differ only in which of like pieces is which, there is one.
    """
    singles = [want.code for want in problem.wants for _ in range(want.count)]
    ways = {
        want.code: [
            (place, fit)
            for place, stock in enumerate(there)
            for fit in problem.fits
            if fit.stock == stock.code and fit.want == want.code
        ]
        for want in problem.wants
    }

    def further(done: list[tuple[int, Fit]], least: int) -> Iterator[list[tuple[int, Fit]]]:
        if len(done) == len(singles):
            yield done
            return
        code = singles[len(done)]
        is_like_last = bool(done) and singles[len(done) - 1] == code
        opened = {place for place, _ in done}
        for number in range(least if is_like_last else 0, len(ways[code])):
            place = ways[code][number][0]
            if place and there[place] is there[place - 1] and place - 1 not in opened:
                continue  # the piece before it is like it
            yield from further([*done, ways[code][number]], number)

    return further([], 0)


def cut_along(stock: Stock, lengths: list[int], kerf: int) -> tuple[int, int] | None:
    """Walk along a piece and cut off one length after the other: how far one comes, and what the saw took."""
    end = float("inf") if stock.length is None else stock.length
    at = sawn = 0
    for length in lengths:
        at += length
        if at > end:
            return None
        if at < end:
            dust = int(min(kerf, end - at))
            at, sawn = at + dust, sawn + dust
    return at, sawn


def rank(problem: CutProblem, there: list[Stock], assigned: list[tuple[int, Fit]]) -> Rank | None:
    """Cost, waste and different cuts; None where something does not go in."""
    length_of = {want.code: want.length for want in problem.wants}
    cost = sum((fit.cost for _, fit in assigned), Decimal(0))
    cost += sum((problem.setups[name] for name in {fit.setup for _, fit in assigned} - {""}), Decimal(0))
    waste, cuts = 0, set()
    for place in {place for place, _ in assigned}:
        stock, fits = there[place], [fit for other, fit in assigned if other == place]
        is_whole = any(fit.as_it_is for fit in fits)
        if is_whole and len(fits) > 1:
            return None
        if not stock.is_bulk:
            cuts.add((stock.code, is_whole, frozenset(Counter(fit.want for fit in fits).items())))
        if is_whole:
            cost += stock.cost
            continue
        along = cut_along(stock, [length_of[fit.want] for fit in fits], problem.kerf)
        if along is None:
            return None
        at, sawn = along
        waste += sawn
        if stock.is_bulk:
            cost += at * stock.cost
            continue
        cost += stock.cost
        rest = (stock.length or 0) - at
        if rest >= stock.keep_length:
            cost -= rest * stock.rest_worth
        else:
            waste += rest
    return cost, waste, len(cuts)


def best_of_all(problem: CutProblem) -> Rank | None:
    there = pieces_of_stock(problem)
    ranks = (rank(problem, there, assigned) for assigned in assignments(problem, there))
    return min((found for found in ranks if found is not None), default=None)


@pytest.mark.parametrize("first", range(0, CASES, AT_ONCE))
def test_no_way_of_cutting_is_better(first: int):
    for seed in range(first, first + AT_ONCE):
        problem = drawn(seed)
        best = best_of_all(problem)
        if best is None:
            with pytest.raises(Refused):
                cut_plan(problem, seconds=20)
            continue
        plan = cut_plan(problem, seconds=20)
        assert (plan.cost, plan.waste, plan.different_cuts) == best, seed
        assert plan.is_optimal
        assert plan.is_tidiest
        assert not check_cuts(problem, plan)


def test_what_is_tried_out_is_of_all_kinds():
    """The cases hold what they are for: enough that can be served, and enough of each kind among what is used."""
    used: Counter[str] = Counter()
    for seed in range(0, CASES, 5):
        problem = drawn(seed)
        try:
            plan = cut_plan(problem, seconds=20)
        except Refused:
            used["refused"] += 1
            continue
        bulk = {stock.code for stock in problem.stocks if stock.is_bulk}
        keeps = {stock.code: stock.keep_length for stock in problem.stocks}
        for cut in plan.cuts:
            used["as it is"] += cut.is_as_it_is
            used["bulk"] += cut.stock in bulk
            used["kept"] += (
                cut.stock not in bulk and not cut.is_as_it_is and (cut.rest or 0) >= max(1, keeps[cut.stock])
            )
            used["several"] += sum(number for _, number in cut.pieces) > 1
    assert all(used[kind] >= 5 for kind in ("refused", "as it is", "bulk", "kept", "several")), used


@pytest.mark.parametrize("seed", range(0, 60))
def test_one_more_piece_of_stock_never_costs_more(seed: int):
    problem = drawn(seed)
    try:
        before = cut_plan(problem, seconds=20)
    except Refused:
        return
    more = Stock(code="more", length=7 + seed % 17, cost=Decimal(seed % 5) / 10, keep_length=5)
    fits = tuple(Fit(stock="more", want=want.code, cost=Decimal("0.10")) for want in problem.wants)
    after = cut_plan(replace(problem, stocks=(*problem.stocks, more), fits=(*problem.fits, *fits)), seconds=20)
    assert after.cost <= before.cost


@pytest.mark.parametrize("seed", range(1000, 1030))
def test_prices_that_no_decimal_ends(seed: int):
    """A third of every price: what is cheapest is found but for a hundred-thousandth, and added exactly."""
    problem = drawn(seed)
    stocks = (replace(stock, cost=stock.cost / 3, rest_worth=stock.rest_worth / 7) for stock in problem.stocks)
    fits = (replace(fit, cost=fit.cost / 3) for fit in problem.fits)
    problem = replace(problem, stocks=tuple(stocks), fits=tuple(fits))
    best = best_of_all(problem)
    if best is not None:
        plan = cut_plan(problem, seconds=20)
        assert plan.is_optimal
        assert best[0] <= plan.cost + Decimal("1e-20")
        assert plan.cost <= best[0] + Decimal("0.00001")


@pytest.mark.parametrize("seed", range(0, 20))
def test_the_same_problem_has_the_same_answer(seed: int):
    problem = bones_of_a_quote(seed)
    assert cut_plan(problem, seconds=20) == cut_plan(problem, seconds=20)
