"""The plan: what cannot be served named, the program solved, its answer counted again before anyone sees it."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from decimal import ROUND_FLOOR, Decimal, localcontext
from time import monotonic

from inventory.cutting.checking import check_cuts
from inventory.cutting.patterns import Pattern, Usable, all_patterns, usable
from inventory.cutting.paying import paying_patterns
from inventory.cutting.problem import Cut, CutPlan, CutProblem, Fit, Stock, Want, millimetres
from inventory.cutting.whole import Chosen, Whole
from inventory.ground.findings import Finding, Refused, refuse, stop

__all__ = ["cut_plan"]

# More patterns than these are not written down all, but made as they are found to pay.
MOST_PATTERNS = 20_000
# Of the time, how much making patterns may take; the rest is for choosing among them.
SHARE_FOR_PATTERNS = 0.5
# Saying what runs short, or finding any plan, has so long at least.
LEAST_SECONDS = 1.0
# A bound that no decimal ends is cut off after so many places.
BOUND_STEP = Decimal("0.000001")


def cut_plan(problem: CutProblem, *, seconds: float) -> CutPlan:
    """Return the cuts that cost least, among those with least waste, among those with fewest different cuts.

    The same problem has the same answer, unless `seconds` end the search.

    Raises:
        Refused: every want that nothing can serve, with the longest that could be had; or else what runs short.
    """
    until = monotonic() + seconds
    stocks = usable(problem)
    unserved = tuple(_unserved(problem, stocks))
    if unserved:
        raise Refused(unserved)
    patterns = all_patterns(stocks, kerf=problem.kerf, limit=MOST_PATTERNS)
    bound, is_all = None, True
    if patterns is None:
        paying = paying_patterns(problem, stocks, seconds=seconds * SHARE_FOR_PATTERNS)
        patterns, bound, is_all = paying.patterns, paying.bound, paying.is_short
    chosen = Whole(problem, stocks, patterns).solved(seconds=until - monotonic(), bound=bound)
    if chosen is None:
        left = max(LEAST_SECONDS, until - monotonic())
        chosen = _with_what_is_there(problem, stocks, patterns, seconds=left, is_proven=is_all)
    return _checked(problem, _plan(problem, stocks, patterns, chosen))


def _unserved(problem: CutProblem, stocks: Sequence[Usable]) -> list[Finding]:
    """Wants that no stock can serve, however few."""
    served = {want.code for of in stocks for _, want in (*of.pieces, *of.wholes)}
    lengths: dict[str, int] = defaultdict(int)
    there = {stock.code: stock.length or 0 for stock in problem.stocks if stock.count != 0}
    for fit in problem.fits:
        lengths[fit.want] = max(lengths[fit.want], there.get(fit.stock, 0))
    findings = []
    for want in problem.wants:
        if want.count and want.code not in served:
            longest = lengths[want.code]
            what = (
                f"the longest that could be had is {millimetres(longest)}" if longest else "nothing there may serve it"
            )
            message = f"{want.code} is {millimetres(want.length)} long; {what}."
            findings.append(stop("cutting.nothing-serves", want.code, message))
    return findings


def _with_what_is_there(
    problem: CutProblem, stocks: Sequence[Usable], patterns: Sequence[Pattern], *, seconds: float, is_proven: bool
) -> Chosen:
    """Some plan where the best was not found.

    Args:
        is_proven: whether these patterns tell that there is no plan, where they have none.

    Raises:
        Refused: what runs short, or that no plan was found in time.
    """
    chosen = Whole(problem, stocks, patterns, may_miss=True).solved(seconds=seconds)
    if chosen is None or (chosen.missing and not (is_proven and chosen.is_optimal)):
        hint = "Plan fewer wants at once, or give it more time."
        raise refuse("cutting.no-time", "plan", "No plan was found in the time given.", hint)
    if not chosen.missing:
        return replace(chosen, is_optimal=False)
    raise Refused(
        stop("cutting.runs-short", want.code, _short(want, chosen.missing[want.code]))
        for want in problem.wants
        if want.code in chosen.missing
    )


def _short(want: Want, missing: int) -> str:
    found = "finds" if missing == 1 else "find"
    return f"What is there runs short: of {want.count} × {want.code} ({millimetres(want.length)}) {missing} {found} no stock."


def _plan(problem: CutProblem, stocks: Sequence[Usable], patterns: Sequence[Pattern], chosen: Chosen) -> CutPlan:
    """The plan with its sums, in decimals."""
    with localcontext(prec=60):
        used = [(pattern, times) for pattern, times in zip(patterns, chosen.times, strict=True) if times]
        cuts = [_cut(pattern, times) for pattern, times in used]
        cost = sum((pattern.cost * times for pattern, times in used), Decimal(0))
        waste = sum(pattern.waste * times for pattern, times in used)
        setups = {fit.setup for pattern, _ in used for fit, _ in pattern.pieces}
        numbers = iter(chosen.taken)
        for of in stocks:
            if not of.stock.is_bulk:
                continue
            taken = [(fit, want, number) for (fit, want), number in zip(of.pieces, numbers, strict=False) if number]
            if not taken:
                continue
            wanted = sum(want.length * number for _, want, number in taken)
            length = wanted + problem.kerf * sum(number for _, _, number in taken)
            if of.stock.length is not None:
                length = min(length, of.stock.length)
            cuts.append(_off_bulk(of.stock, taken, length))
            cost += of.stock.cost * length + sum((fit.cost * number for fit, _, number in taken), Decimal(0))
            waste += length - wanted
            setups |= {fit.setup for fit, _, _ in taken}
        cost += sum((problem.setups[name] for name in sorted(setups - {""})), Decimal(0))
        bound = Decimal(chosen.bound.numerator) / chosen.bound.denominator
        bound = cost if chosen.is_optimal else min(cost, bound.quantize(BOUND_STEP, rounding=ROUND_FLOOR))
    return CutPlan(
        cuts=tuple(cuts),
        cost=cost,
        waste=waste,
        different_cuts=len(used),
        bound=bound,
        is_optimal=chosen.is_optimal,
        is_tidiest=chosen.is_tidiest,
    )


def _cut(pattern: Pattern, times: int) -> Cut:
    return Cut(
        stock=pattern.stock.code,
        times=times,
        pieces=tuple((fit.want, number) for fit, number in pattern.pieces),
        rest=pattern.rest,
        is_as_it_is=pattern.pieces[0][0].as_it_is,
    )


def _off_bulk(stock: Stock, taken: Sequence[tuple[Fit, Want, int]], length: int) -> Cut:
    rest = None if stock.length is None else stock.length - length
    pieces = tuple((fit.want, number) for fit, _, number in taken)
    return Cut(stock=stock.code, times=1, pieces=pieces, rest=rest)


def _checked(problem: CutProblem, plan: CutPlan) -> CutPlan:
    """The plan, counted again; what is wrong with one is a fault of this program."""
    findings = check_cuts(problem, plan)
    if findings:
        raise RuntimeError(" ".join(finding.message for finding in findings))
    return plan
