"""What of a problem can be met at all: what nobody offers and no stock can serve is named and left out."""

from dataclasses import replace
from decimal import Decimal

from inventory.ground.findings import Finding, warn
from inventory.ground.measures import amount_text
from inventory.ground.stock_units import StockUnit
from inventory.replenish.flow import out_of_reach
from inventory.replenish.minimum import MINIMUM_CODE, MINIMUM_HINT, minimum_words, reachable
from inventory.replenish.problem import Problem, Stocked

__all__ = ["without_the_impossible"]


def without_the_impossible(problem: Problem) -> tuple[Problem, tuple[Finding, ...]]:
    """Return the problem less what nothing can ever meet, so that the rest can be planned, and what that is."""
    problem, too_small = reachable(problem)
    unmet, unsafe = out_of_reach(problem)
    missing = {id(need): quantity for need, quantity in unmet}
    bare = {row.code: quantity for row, quantity in unsafe}
    rows = {row.code: row for row in problem.materials}
    short = [(rows[need.material], rows[need.material].substitutes, quantity, need.job) for need, quantity in unmet]
    short += [(row, (), quantity, "the reserve") for row, quantity in unsafe]
    sought = {code for row, substitutes, _, _ in short for code in (row.code, *substitutes)}
    findings = [row.finding(problem.currency) for row in too_small if not row.materials & sought]
    for row, substitutes, quantity, job in short:
        why = minimum_words(too_small, (row.code, *substitutes), problem.currency)
        findings.append(_not_offered(row, quantity, job, why))
    possible = replace(
        problem,
        needs=tuple(
            replace(need, quantity=need.quantity - missing[id(need)]) if id(need) in missing else need
            for need in problem.needs
        ),
        materials=tuple(
            replace(row, safety=row.safety - bare[row.code]) if row.code in bare else row for row in problem.materials
        ),
    )
    return possible, tuple(findings)


def _not_offered(row: Stocked, quantity: Decimal, job: str, minimum: str) -> Finding:
    """What is missing; `minimum` says why it is not bought from those who do offer it, empty where nobody does."""
    is_known = row.unit in list(StockUnit)
    amount = amount_text(quantity, StockUnit(row.unit)) if is_known else f"{quantity.normalize():f} {row.unit}"
    missing = f"{amount} {'is' if quantity == 1 else 'are'} missing for {job}"
    if minimum:
        return warn(MINIMUM_CODE, row.code, f"It cannot be bought: {missing}. {minimum}.", MINIMUM_HINT)
    return warn(
        "reorder.nobody-offers",
        row.code,
        f"Nobody offers it: {missing}.",
        "Add an offer of a supplier, or a substitute.",
    )
