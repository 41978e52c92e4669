"""How far off an estimate may be: low, likely and high as a distribution of what the work really takes.

Low and high are taken as the 10 % and the 90 % point (the range of an estimate holds four times in five), likely as the
middle. What the work takes is likely × exp(s × z) with z a standard normal deviation; s is one number below likely and
another above it, so that all three points are met. Where low × high = likely² that is the log-normal distribution.
Source: algebra of log-normal quantiles.
"""

import math
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Spread", "quantile", "spread_of"]

NORMAL_90 = NormalDist().inv_cdf(0.9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """The standard deviation of the logarithm on the quicker and on the slower side of likely, each >= 0."""

    below: float
    above: float

    def __post_init__(self) -> None:
        if not (0 <= self.below < math.inf and 0 <= self.above < math.inf):
            raise ValueError("A spread is zero or more.")

    def factors(self, deviations: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return what likely is multiplied by at each standard normal deviation.

        >>> spread_of(80.0, 100.0, 150.0).factors(np.array([-NORMAL_90, 0.0, NORMAL_90])).round(9).tolist()
        [0.8, 1.0, 1.5]
        """
        return np.exp(np.where(deviations < 0, self.below, self.above) * deviations)


def spread_of(low: float, likely: float, high: float) -> Spread:
    """Return the spread whose 10 %, 50 % and 90 % points these are. Raises ValueError unless 0 < low <= likely <= high."""
    if not 0 < low <= likely <= high < math.inf:
        raise ValueError("An estimate is 0 < low <= likely <= high.")
    return Spread(below=math.log(likely / low) / NORMAL_90, above=math.log(high / likely) / NORMAL_90)


def quantile(values: NDArray[Any], share: float) -> float:
    """Return the least of the drawn values that at least `share` of them, 0 < share <= 1, do not exceed.

    >>> quantile(np.array([4, 1, 3, 2]), 0.5), quantile(np.array([4, 1, 3, 2]), 0.51)
    (2.0, 3.0)
    """
    rank = math.ceil(share * len(values)) - 1
    return float(np.partition(values, rank)[rank])
