"""Timing work: from observed minutes to a standard time, and how many observations are enough.

Words: *observed* time × *rating* = *normal* time; normal time × (1 + A) = *standard* time by the ILO convention, with
the allowance A a share of the time worked.
"""

import json
import math
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from statistics import mean, stdev

__all__ = [
    "MINUTES_PER_TMU",
    "allowance_conditions",
    "allowance_share",
    "observations_needed",
    "sample_size",
    "standard_minutes",
]

MINUTES_PER_TMU = 0.0006
"""One time measurement unit (MTM definition)."""
NORMAL_95 = 1.959963984540054
"""Two-sided 95 % quantile of the standard normal distribution."""


@cache
def allowance_conditions() -> dict[str, int]:
    """Return the allowance of each condition of work, percent of the time worked."""
    data = json.loads(Path(__file__).with_name("allowances.json").read_text(encoding="utf-8"))
    return dict(data["conditions"])


def allowance_share(conditions: Sequence[str]) -> float:
    """Return the allowance that the conditions add up to, as a share. Raises KeyError for an unknown one."""
    table = allowance_conditions()
    return sum(table[condition] for condition in conditions) / 100


def standard_minutes(observed_min: float, *, rating: float = 1.0, allowance: float) -> float:
    """Return the standard time of work that was observed to take `observed_min`.

    >>> round(standard_minutes(0.60, rating=0.80, allowance=0.30), 4)
    0.624
    """
    return observed_min * rating * (1 + allowance)


def observations_needed(observed_min: Sequence[float], *, precision_share: float = 0.05, z: float = NORMAL_95) -> int:
    """Return how many observations make the mean sure to within `precision_share` (at 95 % unless `z` says otherwise).

    Formula: n = (z·s ÷ (precision × mean))², rounded up. Source: Heizer & Render, Operations Management, chapter 10.

    Raises:
        ValueError: fewer than two observations, or one that is not positive.
    """
    if len(observed_min) < 2 or min(observed_min) <= 0:
        raise ValueError("At least two observations are needed, each more than zero.")
    return sample_size(z=z, spread=stdev(observed_min), centre=mean(observed_min), precision_share=precision_share)


def sample_size(*, z: float, spread: float, centre: float, precision_share: float) -> int:
    """The same from a standard deviation and a mean that are known."""
    # Rounded before the ceiling: floating-point dust must not ask for one observation more.
    return math.ceil(round((z * spread / (precision_share * centre)) ** 2, 9))
