"""What is seen is taken from one lot: how much of the lots that lie there no need can use.

A rule of thumb of packing, best fit decreasing: each need, the largest first, takes the smallest lot that holds it.
Source: E. G. Coffman, M. R. Garey and D. S. Johnson, approximation algorithms for bin packing.
"""

from collections.abc import Sequence

__all__ = ["stranded"]


def stranded(lots: Sequence[int], whole: Sequence[int], loose: int) -> int:
    """Return what of `lots` is of no use to any need, in base units; 0 where each need in `whole` finds its lot.

    Args:
        lots: what lies in each lot.
        whole: needs that are met from one lot alone.
        loose: what other needs and the reserve take from anywhere.

    >>> stranded([300, 300, 300], whole=[800], loose=200)
    700
    >>> stranded([300, 900], whole=[800], loose=200)
    0
    """
    rests = sorted(lots)
    is_short = False
    for need in sorted(whole, reverse=True):
        place = next((place for place, rest in enumerate(rests) if rest >= need), None)
        if place is None:
            is_short = True
        else:
            rests.append(rests.pop(place) - need)
            rests.sort()
    return max(0, sum(rests) - loose) if is_short else 0
