"""Whether a plan of cuts is one: counted again from the problem alone, sharing nothing with what made the plan."""

from collections import Counter
from collections.abc import Iterator
from decimal import Decimal, localcontext

from inventory.cutting.problem import Cut, CutPlan, CutProblem, Fit, Stock, Want
from inventory.ground.findings import Finding, stop

__all__ = ["check_cuts"]


def check_cuts(problem: CutProblem, plan: CutPlan) -> tuple[Finding, ...]:
    """Return what is wrong with a plan: nothing where each want is served exactly, from what is there, and all adds up."""
    return tuple(_Check(problem, plan).findings())


class _Check:
    def __init__(self, problem: CutProblem, plan: CutPlan) -> None:
        self.problem, self.plan = problem, plan
        self.stocks = {stock.code: stock for stock in problem.stocks}
        self.wants = {want.code: want for want in problem.wants}
        self.fits = {(fit.stock, fit.want, fit.as_it_is): fit for fit in problem.fits}

    def findings(self) -> Iterator[Finding]:
        unknown = [finding for cut in self.plan.cuts for finding in self._unknown(cut)]
        if unknown:
            yield from unknown
            return
        for cut in self.plan.cuts:
            yield from self._lengths(cut)
        yield from self._counts()
        yield from self._sums()

    def _unknown(self, cut: Cut) -> Iterator[Finding]:
        if cut.stock not in self.stocks:
            yield stop("cutting.unknown-stock", cut.stock, f"There is no stock {cut.stock}.")
        if cut.times < 1 or not cut.pieces or any(number < 1 for _, number in cut.pieces):
            yield stop("cutting.nothing-cut", cut.stock, f"A cut of {cut.stock} makes nothing.")
        if len({want for want, _ in cut.pieces}) < len(cut.pieces):
            yield stop("cutting.want-twice", cut.stock, f"A cut of {cut.stock} names a want twice.")
        for want, _ in cut.pieces:
            if (cut.stock, want, cut.is_as_it_is) not in self.fits:
                yield stop("cutting.no-fit", cut.stock, f"{cut.stock} may not serve {want} in this way.")

    def _lengths(self, cut: Cut) -> Iterator[Finding]:
        stock = self.stocks[cut.stock]
        if cut.is_as_it_is:
            if sum(number for _, number in cut.pieces) != 1 or cut.rest != 0:
                yield stop(
                    "cutting.not-whole", cut.stock, f"A piece of {cut.stock} serves one want as it is, without rest."
                )
            return
        if stock.is_bulk and cut.times != 1:
            yield stop("cutting.bulk-twice", cut.stock, f"{cut.stock} is one coil or roll, cut {cut.times} times.")
        if stock.length is None:
            rest = None
        else:
            rest = stock.length - sum(self.wants[want].length * number for want, number in cut.pieces)
            for _ in range(sum(number for _, number in cut.pieces) - 1):
                rest -= self.problem.kerf
            if rest < 0:
                yield stop("cutting.too-long", cut.stock, f"The pieces from {cut.stock} are {-rest} longer than it is.")
                return
            # The last cut frees the rest; where no more than the kerf is left, nothing remains.
            rest = max(0, rest - self.problem.kerf)
        if cut.rest != rest:
            yield stop("cutting.rest", cut.stock, f"The rest of {cut.stock} is {rest}, not {cut.rest}.")

    def _counts(self) -> Iterator[Finding]:
        served: Counter[str] = Counter()
        used: Counter[str] = Counter()
        for cut in self.plan.cuts:
            used[cut.stock] += cut.times
            for code, number in cut.pieces:
                served[code] += number * cut.times
        for want in self.problem.wants:
            if served[want.code] != want.count:
                yield stop(
                    "cutting.count", want.code, f"{want.code} is served {served[want.code]} times, not {want.count}."
                )
        for stock in self.problem.stocks:
            if stock.count is not None and used[stock.code] > stock.count:
                message = f"{stock.code} is used {used[stock.code]} times, there are {stock.count}."
                yield stop("cutting.too-many", stock.code, message)

    def _sums(self) -> Iterator[Finding]:
        with localcontext(prec=60):
            cost = self._setups() + sum((self._cost(cut) * cut.times for cut in self.plan.cuts), Decimal(0))
        waste = sum(self._waste(cut) * cut.times for cut in self.plan.cuts)
        different = {
            (cut.stock, cut.is_as_it_is, frozenset(cut.pieces))
            for cut in self.plan.cuts
            if not self._stock(cut).is_bulk
        }
        if self.plan.cost != cost:
            yield stop("cutting.cost", "cost", f"The plan costs {cost}, not {self.plan.cost}.")
        if self.plan.waste != waste:
            yield stop("cutting.waste", "waste", f"The plan wastes {waste}, not {self.plan.waste}.")
        if self.plan.different_cuts != len(different):
            message = f"The plan has {len(different)} different cuts, not {self.plan.different_cuts}."
            yield stop("cutting.different-cuts", "different_cuts", message)
        if self.plan.bound > cost or (self.plan.is_optimal and self.plan.bound != cost):
            yield stop("cutting.bound", "bound", f"The bound is {self.plan.bound} where the plan costs {cost}.")

    def _stock(self, cut: Cut) -> Stock:
        return self.stocks[cut.stock]

    def _made(self, cut: Cut) -> list[tuple[Fit, Want]]:
        """Each piece that comes of it."""
        made = []
        for want, number in cut.pieces:
            made += [(self.fits[cut.stock, want, cut.is_as_it_is], self.wants[want])] * number
        return made

    def _setups(self) -> Decimal:
        names = {fit.setup for cut in self.plan.cuts for fit, _ in self._made(cut)} - {""}
        return sum((self.problem.setups[name] for name in sorted(names)), Decimal(0))

    def _taken(self, cut: Cut) -> int:
        """What is gone from a coil: the pieces with their kerfs, at most what was on it."""
        taken = sum(want.length + self.problem.kerf for _, want in self._made(cut))
        length = self._stock(cut).length
        return taken if length is None else min(taken, length)

    def _cost(self, cut: Cut) -> Decimal:
        stock = self._stock(cut)
        cost = sum((fit.cost for fit, _ in self._made(cut)), Decimal(0))
        if stock.is_bulk:
            return cost + stock.cost * self._taken(cut)
        kept = cut.rest or 0
        return cost + stock.cost - (stock.rest_worth * kept if kept >= stock.keep_length else 0)

    def _waste(self, cut: Cut) -> int:
        if cut.is_as_it_is:
            return 0
        stock = self._stock(cut)
        wanted = sum(want.length for _, want in self._made(cut))
        if stock.is_bulk:
            return self._taken(cut) - wanted
        kept = cut.rest if cut.rest is not None and cut.rest >= stock.keep_length else 0
        return (stock.length or 0) - wanted - kept
