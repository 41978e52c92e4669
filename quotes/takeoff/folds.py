"""Cloth that is laid folded: which can be, and its lay of one thickness on half the width."""

from collections.abc import Collection, Mapping

from inventory.ground.findings import Finding, warn
from quotes.lay.fitting import width_faults
from quotes.lay.folding import folded
from quotes.lay.lay_plan import LayProblem

__all__ = ["can_be_folded", "fold_findings", "folded_where_wanted"]


def can_be_folded(problem: LayProblem) -> bool:
    """Tell whether each piece fits half the width of its cloth, and nothing of the cloth has to be minded."""
    return problem.is_plain and not width_faults(problem.pieces, problem.width / 2)


def folded_where_wanted(problems: Mapping[str, LayProblem], wanted: Collection[str]) -> dict[str, LayProblem]:
    """Return the lays of cloths by their keys, those that are wanted so and can be on half their width."""
    return {
        key: folded(problem).problem if key in wanted and can_be_folded(problem) else problem
        for key, problem in problems.items()
    }


def fold_findings(problems: Mapping[str, LayProblem], wanted: Collection[str]) -> list[Finding]:
    """Name the cloths that are wanted folded and are laid open, and the pieces that the fold gives twice."""
    findings: list[Finding] = []
    for key, problem in problems.items():
        if key in wanted and not can_be_folded(problem):
            why = "a repeat has to match on it" if problem.repeat else "a piece is wider than half of it"
            findings.append(warn("lay.not-folded", key, f"{key} is laid open, since {why}.", "Lay it single."))
        elif key in wanted:
            findings += folded(problem).findings
    return findings
