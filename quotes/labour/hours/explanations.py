"""Whole explanations of a log: where the minutes of operations went that were done and never written.

One explanation holds for the whole log, as it is a habit of the workroom, and is weighed as a whole (`weighing.py`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf

from quotes.labour.hours.log import Block, Operation

__all__ = ["EXPLANATIONS", "LOST", "Claim", "Explanation", "claims"]


class Whither(StrEnum):
    """Where a missing operation's minutes went: to what was written before it, or somewhere between that and the next."""

    BEFORE = "before"
    AROUND = "around"


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """Missing operations estimated below `below_min` are with others; the rest are lost."""

    below_min: float
    whither: Whither = Whither.BEFORE


LOST = Explanation(below_min=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A share of an operation's minutes that is in a block; `is_between` where it lies somewhere between two blocks."""

    block: int
    place: int
    share: float = 1.0
    is_between: bool = False


EXPLANATIONS = (
    LOST,
    Explanation(below_min=16.0),
    Explanation(below_min=25.0),
    Explanation(below_min=40.0),
    Explanation(below_min=65.0),
    Explanation(below_min=inf),
    Explanation(below_min=25.0, whither=Whither.AROUND),
    Explanation(below_min=inf, whither=Whither.AROUND),
)


def claims(explanation: Explanation, operations: Sequence[Operation], blocks: Sequence[Block]) -> list[Claim]:
    """Return what each block holds of a job's operations."""
    if not blocks:
        return []
    block_of = {place: at for at, block in enumerate(blocks) for place in block.places}
    found = [Claim(block=at, place=place) for place, at in block_of.items()]
    for place, row in enumerate(operations):
        if place in block_of or row.estimated_min >= explanation.below_min:
            continue
        before = next((block_of[at] for at in range(place - 1, -1, -1) if at in block_of), None)
        after = next((block_of[at] for at in range(place + 1, len(operations)) if at in block_of), None)
        near = [at for at in (before, after) if at is not None]
        if explanation.whither is Whither.AROUND and len(set(near)) == 2:
            found += [Claim(block=at, place=place, share=0.5, is_between=True) for at in near]
        else:
            found.append(Claim(block=near[0], place=place))
    return found
