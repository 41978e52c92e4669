"""One lay of the pieces of several, beside the lays of each alone: whichever takes less cloth is what is cut.

Cloth taken is in whole millimetres of the roll, as the shelf counts it: the roll up to the next one, and remnants by their
worth less that of the rests which go back.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from quotes.lay.lay_plan import Box, LayPlan, LayProblem, Placement, Remnant
from quotes.lay.remnants import cost_of, used_of_remnants
from quotes.lay.sharing import Share, shared
from quotes.lay.true_lays import pushed_together

__all__ = [
    "GivenCloth",
    "JointLay",
    "Part",
    "RemnantUse",
    "Taken",
    "joint_problem",
    "lay_together",
    "off_grain",
    "taken_of",
]

_HAIR_MM = 1e-6
Laying = Callable[[LayProblem], LayPlan]


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenCloth:
    """What the cloth is like: remnants that may be used first, places of the roll to leave out."""

    remnants: tuple[Remnant, ...] = ()
    flaws: tuple[Box, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RemnantUse:
    """A remnant that is begun, by its place among those of the problem: how long what goes back is, 0 for nothing, and what
    is used up of it in mm of the roll.
    """

    which: int
    rest_mm: int
    takes_mm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """The cloth that a lay takes, whole mm."""

    roll_mm: int
    remnants: tuple[RemnantUse, ...]

    @property
    def total_mm(self) -> int:
        """All of it in mm of the roll."""
        return self.roll_mm + sum(use.takes_mm for use in self.remnants)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A lay that is cut at once."""

    whose: tuple[str, ...]
    problem: LayProblem
    plan: LayPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class JointLay:
    """What is cut: one part where all pieces lie together, one for each where that takes no less cloth.

    Attributes:
        alone_mm: what each would take alone, from the roll; where it has flaws, one after another in their order.
    """

    parts: tuple[Part, ...]
    alone_mm: Mapping[str, int]

    @property
    def takes_mm(self) -> int:
        """The cloth taken, in mm of the roll; never more than all take alone."""
        return sum(taken_of(part.problem, part.plan).total_mm for part in self.parts)

    @property
    def saves_mm(self) -> int:
        """How much less that is than what all take alone."""
        return sum(self.alone_mm.values()) - self.takes_mm

    @property
    def shares(self) -> tuple[Share, ...]:
        """What each pays of the cloth, mm of the roll."""
        return shared(self.takes_mm, self.alone_mm)


def taken_of(problem: LayProblem, plan: LayPlan) -> Taken:
    """Return the cloth that a lay takes."""
    uses = []
    for which, used in sorted(used_of_remnants(plan.placements).items()):
        remnant = problem.remnants[which]
        rest = math.floor(remnant.rest_after(used) + _HAIR_MM)
        back = max(1, math.floor(rest * remnant.width / problem.width + _HAIR_MM)) if rest else 0
        uses.append(RemnantUse(which=which, rest_mm=rest, takes_mm=max(0, round(remnant.worth) - back)))
    return Taken(roll_mm=math.ceil(plan.length - _HAIR_MM), remnants=tuple(uses))


def joint_problem(problems: Mapping[str, LayProblem], cloth: GivenCloth) -> LayProblem:
    """Return the pieces of several problems of one cloth as one problem; a label begins with whose piece it is."""
    first = next(iter(problems.values()))
    pieces = tuple(
        replace(piece, label=f"{whose} {piece.label}")
        for whose, problem in problems.items()
        for piece in problem.pieces
    )
    return replace(first, pieces=pieces, flaws=cloth.flaws, remnants=cloth.remnants)


def off_grain(problem: LayProblem, degrees: float) -> LayProblem:
    """Return a problem whose pieces may also lie so many degrees to either side of each turn that they may lie in."""
    if not degrees:
        return problem
    return replace(
        problem,
        pieces=tuple(
            replace(
                piece, rotations=tuple(turn + aside for turn in piece.rotations for aside in (0.0, degrees, -degrees))
            )
            for piece in problem.pieces
        ),
    )


def lay_together(
    problems: Mapping[str, LayProblem],
    alone: Mapping[str, LayPlan],
    cloth: GivenCloth,
    lay: Laying,
    *,
    apart: Mapping[str, LayProblem] | None = None,
) -> JointLay:
    """Return the lay of several, one by one where together they take no less.

    Args:
        problems: by whose they are; widths, spacing and repeats are the same.
        alone: lays of each on the plain roll that are known already.
        apart: the problems of each by itself, where they allow its pieces less than `problems` do.

    Raises:
        Refused: what cannot be laid.
    """
    own = apart or problems
    parts = _one_after_another(own, {} if cloth.flaws else alone, cloth, lay)
    alone_mm = {part.whose[0]: taken_of(part.problem, part.plan).total_mm for part in parts}
    problem = joint_problem(problems, cloth)
    if len(parts) == 1 and problem == parts[0].problem:
        return JointLay(parts=parts, alone_mm=alone_mm)
    plan = lay(problem)
    on_roll = replace(problem, remnants=())
    if on_roll.is_plain and (pushed := _pushed(parts, on_roll)) and pushed.length < cost_of(problem, plan):
        # A search of all that ended early may still find less.
        method = plan.method if plan.ended_early and not plan.has_failed else pushed.method
        plan = replace(pushed, effort=plan.effort, seconds=plan.seconds, method=method)
    if taken_of(problem, plan).total_mm <= sum(alone_mm.values()):
        parts = (Part(whose=tuple(problems), problem=problem, plan=plan),)
    return JointLay(parts=parts, alone_mm=alone_mm)


def _one_after_another(
    problems: Mapping[str, LayProblem], known: Mapping[str, LayPlan], cloth: GivenCloth, lay: Laying
) -> tuple[Part, ...]:
    """Each by itself on the roll, behind those before it: what of flaws lies behind those is in its way."""
    parts: list[Part] = []
    begun = 0
    for whose, problem in problems.items():
        flaws = tuple((x0 - begun, y0, x1 - begun, y1) for x0, y0, x1, y1 in cloth.flaws if x1 > begun)
        own = joint_problem({whose: problem}, GivenCloth(flaws=flaws))
        plan = _named(known[whose], whose) if whose in known else lay(own)
        parts.append(Part(whose=(whose,), problem=own, plan=plan))
        begun += taken_of(own, plan).roll_mm
    return tuple(parts)


def _pushed(parts: tuple[Part, ...], problem: LayProblem) -> LayPlan | None:
    """The lays of each behind each other, pushed together: their ends often fit into one another."""
    rows: list[Placement] = []
    begun = 0.0
    for part in parts:
        for row in part.plan.placements:
            rows.append(replace(row, outline=tuple((x + begun, y) for x, y in row.outline)))
        begun += part.plan.length + problem.spacing
    return pushed_together(problem, tuple(rows))


def _named(plan: LayPlan, whose: str) -> LayPlan:
    return replace(plan, placements=tuple(replace(row, label=f"{whose} {row.label}") for row in plan.placements))
