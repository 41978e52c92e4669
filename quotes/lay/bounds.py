"""What is known of a lay before it is drawn: the area of its pieces, and what no lay can beat, in length and in cost."""

import math
from collections.abc import Iterable

from quotes.lay.fitting import shortest_along, that_fit
from quotes.lay.lay_plan import LayPiece, LayPlan, LayProblem, Remnant
from quotes.lay.remnants import cost_of
from quotes.pattern.geometry import ring_area_mm2

__all__ = ["above_bound_share", "least_cost", "least_length", "pieces_area"]


def pieces_area(problem: LayProblem) -> float:
    """Return the area of all pieces, every copy counted, in the square of the problem's unit."""
    return _area(problem.pieces)


def least_length(problem: LayProblem) -> float:
    """Return a length of the roll that no lay can beat, in the problem's unit.

    It is area ÷ width, or the longest piece; of what may lie on remnants only what the roll has to bear in any case.
    """
    fitting = _fitting(problem)
    on_roll = [piece for piece in problem.pieces if not any(piece.label in labels for labels in fitting)]
    on_remnants = min(
        math.fsum(
            _most_on(problem, labels, remnant) for labels, remnant in zip(fitting, problem.remnants, strict=True)
        ),
        pieces_area(problem) - _area(on_roll),
    )
    longest = max((shortest_along(piece, problem.width) for piece in on_roll), default=0.0)
    return max((pieces_area(problem) - on_remnants) / problem.width, longest, 0.0)


def least_cost(problem: LayProblem) -> float:
    """Return a cost that no lay can beat, in lengths of the roll: the roll and what is used up of remnants, as `cost_of` has it.

    By area: what lies on a remnant costs at least so much of its worth as it fills of it, or of what could lie there at all
    where no rest goes back. So the cheapest remnants are filled first, as far as they are cheaper than the roll. By piece:
    each one takes as much of the roll as it is long, or of a remnant that it fits.
    """
    fitting = _fitting(problem)
    filled = [
        (_most_on(problem, labels, remnant), remnant)
        for labels, remnant in zip(fitting, problem.remnants, strict=True)
        if labels
    ]
    rates = sorted(
        (remnant.worth / (most if remnant.keep_length is None else remnant.width * remnant.length), most)
        for most, remnant in filled
    )
    free = _area(piece for piece in problem.pieces if any(piece.label in labels for labels in fitting))
    saved = 0.0
    for rate, most in rates:
        taken = min(most, free)
        free -= taken
        saved += taken * max(0.0, 1 / problem.width - rate)
    by_piece = (_least_for(piece, problem, fitting) for piece in problem.pieces)
    return max(pieces_area(problem) / problem.width - saved, *by_piece, 0.0)


def above_bound_share(problem: LayProblem, plan: LayPlan) -> float | None:
    """Return by how much a lay costs more than no lay can beat, as a share of that; 0 where it is proven the best.

    None where nothing is known of that: where all may lie on remnants that cost nothing, and it costs something.
    """
    least, cost = least_cost(problem), cost_of(problem, plan)
    if least > _NOTHING * problem.width:
        return max(0.0, cost / least - 1)
    return None if cost > _NOTHING * problem.width else 0.0


_NOTHING = 1e-9
"""So little of the width is no length."""


def _area(pieces: Iterable[LayPiece]) -> float:
    return math.fsum(ring_area_mm2(piece.outline) * piece.copies for piece in pieces)


def _fitting(problem: LayProblem) -> list[set[str]]:
    """The pieces that fit each remnant."""
    return [that_fit(problem.pieces, remnant) for remnant in problem.remnants]


def _most_on(problem: LayProblem, labels: set[str], remnant: Remnant) -> float:
    """How much of the pieces' area a remnant holds at the most."""
    return min(remnant.width * remnant.length, _area(piece for piece in problem.pieces if piece.label in labels))


def _least_for(piece: LayPiece, problem: LayProblem, fitting: list[set[str]]) -> float:
    """What one copy of a piece costs at the least."""
    on_remnants = (
        remnant.worth * (1 - remnant.rest_after(shortest_along(piece, remnant.width)) / remnant.length)
        for labels, remnant in zip(fitting, problem.remnants, strict=True)
        if piece.label in labels
    )
    return min([shortest_along(piece, problem.width), *on_remnants])
