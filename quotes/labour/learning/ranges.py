"""The range of a new estimate by what was learnt: it narrows with every job that was judged, from the first on."""

import math
from collections.abc import Mapping

from quotes.labour.hours import Hours, NextJob, foretell
from quotes.labour.learning.assumptions import judging
from quotes.labour.operations import LearntRange, StandardTimes

__all__ = ["learnt_range"]

DIGITS = 3


def learnt_range(hours: Hours, piece: Mapping[str, float], times: StandardTimes) -> LearntRange | None:
    """Return low and high of likely for a piece as the table now estimates it; None before anything was learnt.

    Args:
        piece: minutes by operation without allowance, and without what was learnt; not all 0.
        times: the table as it stands, with the paces that were taken: likely is its time.
    """
    if not hours.jobs:
        return None
    paces = {operation.code: operation.pace for operation in times.operations}
    likely = math.fsum(minutes * paces.get(code, 1.0) for code, minutes in piece.items())
    found = foretell(hours, NextJob(name="", estimates=piece))
    low, middle, high = (minutes / likely for minutes in (found.low_min, found.likely_min, found.high_min))
    jobs = "the one piece" if hours.jobs == 1 else f"the {hours.jobs} latest pieces"
    words = (
        f"Likely is the table’s time. By {jobs} of which time was logged, 8 such pieces in 10 take between {low:.2f} "
        f"and {high:.2f} times as long."
    )
    if abs(middle - 1) >= judging().material_share:
        words += (
            f" The log has its middle at {middle:.2f}: what is proposed under Learning would bring the two together."
        )
    return LearntRange(
        low=round(min(1.0, low), DIGITS),
        high=round(max(1.0, high), DIGITS),
        rule=words,
        common_share=round(found.common_share, DIGITS),
    )
