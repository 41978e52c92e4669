"""Which operations are missing in a log, and how well a limit in minutes tells why.

Under a limit, each operation estimated below it is left out as often as it likes; those above are left out by chance,
all alike, but for a few that the workroom never writes. The evidence of a limit is the chance of the pattern with the
rates averaged out: Jeffreys' prior for each small one, an even choice among `RATES` for what they share.

Source: Jeffreys, Proceedings of the Royal Society A 186, 1946, 453–461 (the prior of a rate).
"""

import math
from collections.abc import Sequence

import numpy as np

from quotes.labour.hours.columns import Floats

__all__ = ["missing_evidence"]

RATES = (0.002, 0.01, 0.03, 0.06, 0.12, 0.2, 0.35)
NEVER_WRITTEN = 0.1
"""How likely an operation is one that is never written, before the log is seen; or nearly never:"""
NEARLY = 0.98


def missing_evidence(limit: float, estimates: Floats, done: Floats, missing: Floats) -> float:
    """Return the logarithm of the chance of a pattern under a limit.

    Args:
        estimates: of each code, minutes on average.
        done, missing: in how many jobs each was done, and done but not written.
    """
    small = (estimates < limit) & (done > 0)
    found = math.fsum(
        _log_beta(0.5 + gone, 0.5 + times - gone) - _log_beta(0.5, 0.5)
        for gone, times in zip(missing[small], done[small], strict=True)
    )
    large = (estimates >= limit) & (done > 0)
    gone, times = missing[large], done[large]
    never = math.log(NEVER_WRITTEN) + gone * math.log(NEARLY) + (times - gone) * math.log(1 - NEARLY)
    by_rate: Sequence[float] = [
        float(
            np.logaddexp(
                math.log(1 - NEVER_WRITTEN) + gone * math.log(rate) + (times - gone) * math.log(1 - rate), never
            ).sum()
        )
        for rate in RATES
    ]
    return found + float(np.logaddexp.reduce(by_rate)) - math.log(len(RATES))


def _log_beta(first: float, second: float) -> float:
    return math.lgamma(first) + math.lgamma(second) - math.lgamma(first + second)
