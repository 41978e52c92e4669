"""Which source serves which need: as early as can be, given what is bought or whatever could be bought."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.ground.findings import Finding, Refused, stop
from inventory.replenish.minimum import MINIMUM_CODE, MINIMUM_HINT, MinimumOutOfReach, minimum_words
from inventory.replenish.parts import Parts
from inventory.replenish.problem import Demand, Problem, Shortage, Stocked
from inventory.replenish.program import Program

__all__ = [
    "Source",
    "arcs",
    "bought_sources",
    "decimals",
    "least_late",
    "least_lateness",
    "out_of_reach",
    "shortages",
    "stock_sources",
]

Bought = Mapping[tuple[str, str], Decimal]
"""Quantity by material and supplier."""

SECONDS = 5.0
# Out of reach costs more than any lateness; a safety that cannot be kept is named before a need that takes it.
NEVER_COST, SAFETY_COST = 1e8, 5e7


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """A quantity of a code that is there from `day` on (None: already); `quantity` None is without limit."""

    code: str
    day: date | None
    quantity: Decimal | None
    supplier: str = ""

    def late_days(self, need: Demand) -> int:
        """Days by which the need would wait for it."""
        return 0 if self.day is None else max(0, (self.day - need.day).days)


def stock_sources(problem: Problem) -> list[Source]:
    """What is there and what is on its way."""
    stock = [Source(code=row.code, day=None, quantity=row.on_hand) for row in problem.materials if row.on_hand]
    coming = [Source(code=row.material, day=row.day, quantity=row.quantity) for row in problem.open_orders]
    return stock + coming


def bought_sources(problem: Problem, bought: Bought | None, arrivals: Mapping[str, date]) -> list[Source]:
    """What suppliers bring: what is bought, or without limit all that is offered."""
    pairs = dict.fromkeys((offer.material, offer.supplier) for offer in problem.offers)
    return [
        Source(
            code=code,
            day=arrivals[supplier],
            quantity=None if bought is None else bought[code, supplier],
            supplier=supplier,
        )
        for code, supplier in pairs
        if bought is None or bought.get((code, supplier))
    ]


def arcs(problem: Problem, needs: Iterable[Demand], sources: list[Source]) -> list[tuple[int, int]]:
    """Pairs of need and source, by their places, that fit by code."""
    serving = {row.code: (row.code, *row.substitutes) for row in problem.materials}
    by_code: dict[str, list[int]] = defaultdict(list)
    for place, source in enumerate(sources):
        by_code[source.code].append(place)
    return [
        (index, place) for index, need in enumerate(needs) for code in serving[need.material] for place in by_code[code]
    ]


def out_of_reach(problem: Problem) -> tuple[list[tuple[Demand, Decimal]], list[tuple[Stocked, Decimal]]]:
    """Return what of needs and of safeties nothing can ever meet, with whatever could be bought.

    A need is served by its own material before that stands in for another: what is short is named where it is short.
    """
    offered = {offer.material for offer in problem.offers}
    # What is offered comes without limit: only what touches a code that nobody offers can fall short.
    part = Parts(problem).of(row.code for row in problem.materials if row.code not in offered)
    sources = stock_sources(part) + bought_sources(part, None, part.arrivals)
    _, unmet, unsafe = _served(part, sources, cost=_stands_in)
    return unmet, unsafe


def least_lateness(problem: Problem, out_of_reach: Iterable[MinimumOutOfReach] = ()) -> Decimal:
    """Return the least Σ quantity × late days, with whatever could be bought.

    Args:
        out_of_reach: suppliers whose offers were left out of the problem, to be named where a need depends on them.

    Raises:
        Refused: needs or safeties that nothing can ever meet, each named.
    """
    sources = stock_sources(problem) + bought_sources(problem, None, problem.arrivals)
    late, unmet, unsafe = _served(problem, sources)
    faults = [_need_fault(problem, need, quantity, out_of_reach) for need, quantity in unmet]
    faults += [_safety_fault(problem, row, quantity, out_of_reach) for row, quantity in unsafe]
    if faults:
        raise Refused(faults)
    return sum((row.quantity * row.late_days for row in late), Decimal(0))


def least_late(problem: Problem) -> list[Shortage]:
    """Return the parts of needs that come late whatever is bought, least in all."""
    sources = stock_sources(problem) + bought_sources(problem, None, problem.arrivals)
    late, _, _ = _served(problem, sources)
    return late


def shortages(
    problem: Problem, bought: Bought, arrivals: Mapping[str, date] | None = None
) -> tuple[Shortage, ...] | None:
    """Return the late parts of needs with what is bought, least in all; None where it does not reach."""
    sources = stock_sources(problem) + bought_sources(problem, bought, arrivals or problem.arrivals)
    late, unmet, unsafe = _served(problem, sources)
    return None if unmet or unsafe else tuple(late)


def _need_fault(
    problem: Problem, need: Demand, quantity: Decimal, out_of_reach: Iterable[MinimumOutOfReach]
) -> Finding:
    row = problem.material(need.material)
    what = f"{quantity.normalize():f} {row.unit} of {row.code}, needed on {need.day}"
    place = f"need of {row.code} for {need.job or 'no job'}"
    if words := minimum_words(out_of_reach, (row.code, *row.substitutes), problem.currency):
        return stop(MINIMUM_CODE, place, f"{what}, cannot be bought: {words}.", MINIMUM_HINT)
    return stop(
        "plan.need-cannot-be-met", place, f"Nothing can ever meet {what}.", "Add an offer, a substitute or stock."
    )


def _safety_fault(
    problem: Problem, row: Stocked, quantity: Decimal, out_of_reach: Iterable[MinimumOutOfReach]
) -> Finding:
    what, place = f"{quantity.normalize():f} {row.unit} of the safety of {row.code}", f"safety of {row.code}"
    if words := minimum_words(out_of_reach, (row.code,), problem.currency):
        return stop(MINIMUM_CODE, place, f"{what} cannot be bought: {words}.", MINIMUM_HINT)
    return stop(
        "plan.safety-cannot-be-kept",
        place,
        f"{what} cannot be kept: nobody offers it.",
        "Add an offer, or lower the safety.",
    )


def _stands_in(source: Source, need: Demand) -> int:
    return int(source.code != need.material)


def _served(
    problem: Problem, sources: list[Source], *, cost: Callable[[Source, Demand], int] = Source.late_days
) -> tuple[list[Shortage], list[tuple[Demand, Decimal]], list[tuple[Stocked, Decimal]]]:
    """Serve all needs at the least cost, lateness as a rule: late parts, needs out of reach, safeties out of reach.

    In whole units of the finest decimal place, so that a corner of the polytope of flows is whole.
    """
    fineness = Decimal(10) ** decimals(problem)
    needs = [need for need in problem.needs if need.quantity]
    program = Program()
    from_source: dict[int, dict[int, float]] = defaultdict(dict)
    to_need: dict[int, dict[int, float]] = defaultdict(dict)
    from_code: dict[str, dict[int, float]] = defaultdict(dict)
    flows: list[tuple[int, int, int]] = []
    for index, place in arcs(problem, needs, sources):
        source = sources[place]
        column = program.column(cost=float(cost(source, needs[index])))
        flows.append((column, index, place))
        to_need[index][column] = 1.0
        from_code[source.code][column] = 1.0
        if source.quantity is not None:
            from_source[place][column] = 1.0
    unmet_columns = []
    for index, need in enumerate(needs):
        column = program.column(cost=NEVER_COST)
        unmet_columns.append(column)
        amount = float(need.quantity * fineness)
        program.row({**to_need[index], column: 1.0}, low=amount, high=amount)
    for place, terms in from_source.items():
        program.row(terms, high=float((sources[place].quantity or Decimal(0)) * fineness))
    unsafe_columns = []
    limitless = {source.code for source in sources if source.quantity is None}
    totals: dict[str, Decimal] = defaultdict(Decimal)
    for source in sources:
        totals[source.code] += source.quantity or Decimal(0)
    for row in problem.materials:
        if row.safety and row.code not in limitless:
            column = program.column(cost=SAFETY_COST, high=float(row.safety * fineness))
            unsafe_columns.append((row, column))
            program.row({**from_code[row.code], column: -1.0}, high=float((totals[row.code] - row.safety) * fineness))
    answer = program.solved(seconds=SECONDS)
    if answer is None:
        return [], [(need, need.quantity) for need in needs], []

    def amount_of(column: int) -> Decimal:
        return Decimal(round(answer.values[column])) / fineness

    late = [
        Shortage(need=needs[index], quantity=amount_of(column), late_days=sources[place].late_days(needs[index]))
        for column, index, place in flows
        if sources[place].late_days(needs[index]) and amount_of(column)
    ]
    unmet = [(needs[index], amount_of(column)) for index, column in enumerate(unmet_columns) if amount_of(column)]
    unsafe = [(row, amount_of(column)) for row, column in unsafe_columns if amount_of(column)]
    return sorted(late, key=lambda row: (row.need.day, row.need.material, row.need.job)), unmet, unsafe


def decimals(problem: Problem) -> int:
    """Return how many decimals the finest quantity of a problem has."""
    numbers = [
        *(number for row in problem.materials for number in (row.on_hand, row.safety)),
        *(row.quantity for row in problem.needs),
        *(row.quantity for row in problem.open_orders),
        *(row.pack for row in problem.offers),
    ]
    return max((max(0, -int(number.normalize().as_tuple().exponent)) for number in numbers), default=0)
