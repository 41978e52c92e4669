"""What of a problem can be met at all: what nobody offers and no stock can serve is named and left out."""

from dataclasses import replace
from decimal import Decimal

from inventory.ground.findings import Finding, warn
from inventory.replenish.flow import out_of_reach
from inventory.replenish.problem import Problem, Stocked

__all__ = ["without_the_impossible"]


def without_the_impossible(problem: Problem) -> tuple[Problem, tuple[Finding, ...]]:
    """Return the problem less what nothing can ever meet, so that the rest can be planned, and what that is."""
    unmet, unsafe = out_of_reach(problem)
    missing = {id(need): quantity for need, quantity in unmet}
    bare = {row.code: quantity for row, quantity in unsafe}
    rows = {row.code: row for row in problem.materials}
    findings = [_not_offered(rows[need.material], quantity, need.job) for need, quantity in unmet]
    findings += [_not_offered(row, quantity, "the reserve") for row, quantity in unsafe]
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


def _not_offered(row: Stocked, quantity: Decimal, job: str) -> Finding:
    return warn(
        "reorder.nobody-offers",
        row.code,
        f"Nobody offers {row.code}: {quantity.normalize():f} {row.unit} are missing for {job}.",
        "Add an offer of a supplier, or a substitute.",
    )
