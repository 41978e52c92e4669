"""A lay of several jobs as it is asked for, and as it is kept: what its papers are made from, and what is booked."""

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.ground.codec import Codec
from quotes.lay.joint import GivenCloth, JointLay, Taken, taken_of
from quotes.lay.lay_plan import LayProblem
from quotes.takeoff.cut_pieces import CutPiece

__all__ = ["KEPT_LAY", "LAY_QUESTION", "KeptLay", "LayQuestion"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LayQuestion:
    """What is laid, as it stood when it was asked for: whatever moves on the shelf meanwhile is looked at when it is booked.

    Attributes:
        problems: by the references of jobs, pieces off the grain where they may lie so.
        apart: the same with all pieces on the grain, as each was quoted.
        marked, remnants, off_grain_deg: as in what is drawn.
    """

    problems: Mapping[str, LayProblem]
    apart: Mapping[str, LayProblem]
    cloth: GivenCloth
    marked: Mapping[str, CutPiece]
    remnants: tuple[int, ...]
    off_grain_deg: float


LAY_QUESTION = Codec(kind=LayQuestion, version=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptLay:
    """A lay with all that its papers show.

    Attributes:
        marked: the pieces by their labels, with stitching line, waist and notches.
        remnants: the lots that could be used, in the order of the problem's remnants.
        off_grain_deg: how far linings were allowed to lie off the grain.
        matching_mm: what matching a repeat takes beyond the plain lay; None where nothing is matched, or nobody looked.
    """

    joint: JointLay
    marked: Mapping[str, CutPiece]
    remnants: tuple[int, ...]
    off_grain_deg: float
    matching_mm: float | None

    @property
    def is_together(self) -> bool:
        """Whether all pieces lie in one lay."""
        return len(self.joint.parts) == 1

    @property
    def taken(self) -> tuple[Taken, ...]:
        """The cloth of each part."""
        return tuple(taken_of(part.problem, part.plan) for part in self.joint.parts)

    @property
    def roll_mm(self) -> int:
        """What comes off the roll."""
        return sum(taken.roll_mm for taken in self.taken)


KEPT_LAY = Codec(kind=KeptLay, version=1)
