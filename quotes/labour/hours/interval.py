"""The range that holds one more value, from the values seen: mean ± t · s · √(1 + 1/n).

It is wider than the range of the mean by what a single job varies. Sources: any textbook of statistics; Abramowitz and
Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4 (Student's distribution in finite sums).
"""

import math
from collections.abc import Sequence
from functools import cache
from statistics import fmean

__all__ = ["range_of_next", "student_quantile"]

HALVINGS = 60
"""Of an angle below π/2: past what a float can tell apart."""


@cache
def student_quantile(share: float, freedom: int) -> float:
    """Return t so that `share` of Student's distribution lies between −t and t.

    >>> round(student_quantile(0.95, 4), 6)
    2.776445

    Raises:
        ValueError: a share not between 0 and 1, or fewer than 1 degree of freedom.
    """
    if not 0 < share < 1 or freedom < 1:
        raise ValueError(f"Student's distribution has no quantile of {share} at {freedom} degrees of freedom.")
    low, high = 0.0, math.pi / 2
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        if _share_within(middle, freedom) < share:
            low = middle
        else:
            high = middle
    return math.tan((low + high) / 2) * math.sqrt(freedom)


def range_of_next(values: Sequence[float], share: float) -> tuple[float, float]:
    """Return low and high between which the next value lies with a chance of `share`, if all vary alike and normally.

    Raises:
        ValueError: fewer than two values.
    """
    count = len(values)
    if count < 2:
        raise ValueError("A range takes two values at the least.")
    centre = fmean(values)
    spread = math.sqrt(math.fsum((value - centre) ** 2 for value in values) / (count - 1))
    reach = student_quantile(share, count - 1) * spread * math.sqrt(1 + 1 / count)
    return centre - reach, centre + reach


def _share_within(angle: float, freedom: int) -> float:
    """The share between −t and t, where t = tan(angle) · √freedom."""
    is_odd = freedom % 2
    squared = math.cos(angle) ** 2
    term = math.cos(angle) if is_odd else 1.0
    sum_of_terms = 0.0
    for step in range(2 + is_odd, freedom + 1, 2):
        sum_of_terms += term
        term *= squared * (step - 1) / step
    if is_odd:
        return 2 / math.pi * (angle + math.sin(angle) * sum_of_terms)
    return math.sin(angle) * sum_of_terms
