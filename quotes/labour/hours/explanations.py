"""Whole explanations of a log: where the minutes of operations went that were done and never written.

One explanation holds for the whole log, as it is a habit of the workroom, and is weighed as a whole (`weighing.py`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf

from quotes.labour.hours.log import Block, Operation

__all__ = ["EXPLANATIONS", "LOST", "Explanation", "claims"]


class Whither(StrEnum):
    """Where a missing operation's minutes went."""

    BEFORE = "before"
    AROUND = "around"
    ALL_OVER = "all over"


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """Missing operations estimated below `below_min` are with others; the rest are lost."""

    below_min: float
    whither: Whither = Whither.BEFORE


LOST = Explanation(below_min=0.0)
EXPLANATIONS = (
    LOST,
    Explanation(below_min=27.0),
    Explanation(below_min=55.0),
    Explanation(below_min=inf),
    Explanation(below_min=inf, whither=Whither.AROUND),
)


def claims(
    explanation: Explanation, operations: Sequence[Operation], blocks: Sequence[Block]
) -> list[tuple[int, int, float]]:
    """Return (block, place of operation, share of the operation's minutes that is in the block)."""
    block_of = {place: at for at, block in enumerate(blocks) for place in block.places}
    found = [(at, place, 1.0) for place, at in block_of.items()]
    if not blocks:
        return []
    for place, row in enumerate(operations):
        if place in block_of or row.estimated_min >= explanation.below_min:
            continue
        before = next((block_of[at] for at in range(place - 1, -1, -1) if at in block_of), None)
        after = next((block_of[at] for at in range(place + 1, len(operations)) if at in block_of), None)
        if before is None or after is None or before == after:
            found.append((after if before is None else before, place, 1.0))  # type: ignore[arg-type]
        elif explanation.whither is Whither.AROUND:
            found += [(before, place, 0.5), (after, place, 0.5)]
        else:
            found.append((before, place, 1.0))
    return found
