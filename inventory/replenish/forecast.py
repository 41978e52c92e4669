"""How much of a material will be used in a week, and how its use varies.

Words: a *series* is the use in each whole week, oldest first, each >= 0; many weeks of a small workroom are zero. A *size*
is the use of a week that has any, an *interval* the weeks from one such week to the next.

Sources: Croston, Operational Research Quarterly 23(3), 1972, 289–303; Syntetos and Boylan, International Journal of
Forecasting 21, 2005, 303–314 (the correction); Syntetos, Boylan and Croston, Journal of the Operational Research
Society 56, 2005, 495–503 (the classes).
"""

from collections.abc import Sequence
from enum import StrEnum
from fractions import Fraction
from statistics import fmean

from inventory.ground.defaults import shelf_defaults

__all__ = [
    "DemandClass",
    "classify",
    "croston",
    "expected_per_week",
    "syntetos_boylan",
]

INTERVAL_BORDER = Fraction(shelf_defaults().forecast.interval_border)
VARIATION_BORDER = Fraction(shelf_defaults().forecast.variation_border)
FEWEST_WEEKS = shelf_defaults().forecast.fewest_weeks


class DemandClass(StrEnum):
    """How a material is used: often or seldom, in like or unlike sizes."""

    SMOOTH = "smooth"
    INTERMITTENT = "intermittent"
    ERRATIC = "erratic"
    LUMPY = "lumpy"


def croston(series: Sequence[float], alpha: float) -> float:
    """Return Croston's forecast per period: the smoothed size ÷ the smoothed interval; 0 without any demand.

    Both are smoothed by `alpha` (0 < alpha <= 1) at each demand. The first size is the first demand, and the first
    interval counts the periods up to and including it; other programs begin differently and then come out differently.
    """
    if not 0 < alpha <= 1:
        raise ValueError(f"A smoothing of {alpha} is not above 0 and at most 1.")
    size, interval, since = 0.0, 0.0, 0
    for demand in series:
        since += 1
        if not demand:
            continue
        if interval:
            size += alpha * (demand - size)
            interval += alpha * (since - interval)
        else:
            size, interval = float(demand), float(since)
        since = 0
    return size / interval if interval else 0.0


def syntetos_boylan(series: Sequence[float], alpha: float) -> float:
    """Return Croston's forecast without its bias: times (1 − alpha / 2)."""
    return croston(series, alpha) * (1 - alpha / 2)


def classify(series: Sequence[float]) -> DemandClass:
    """Return the class of a series: seldom where ADI is above its border, of unlike sizes from that of CV² on.

    ADI is weeks ÷ weeks with demand; CV² of the sizes their population variance ÷ their squared mean.

    >>> classify([0, 0, 4, 0, 0, 0, 5])
    <DemandClass.INTERMITTENT: 'intermittent'>

    Raises:
        ValueError: there is no demand at all.
    """
    sizes = [demand for demand in series if demand]
    if not sizes:
        raise ValueError("A series without any demand has no class.")
    # Multiplied out, since most of a workroom's materials are looked at for one page.
    is_seldom = len(series) * INTERVAL_BORDER.denominator > len(sizes) * INTERVAL_BORDER.numerator
    variation = VARIATION_BORDER + 1
    if len(sizes) * sum(size * size for size in sizes) * variation.denominator >= sum(sizes) ** 2 * variation.numerator:
        return DemandClass.LUMPY if is_seldom else DemandClass.ERRATIC
    return DemandClass.INTERMITTENT if is_seldom else DemandClass.SMOOTH


def expected_per_week(series: Sequence[float]) -> float:
    """Return the forecast per week: the mean of smooth demand, that of Syntetos and Boylan for every other."""
    is_smooth = _is_told(series) and classify(series) is DemandClass.SMOOTH
    return fmean(series) if is_smooth else syntetos_boylan(series, shelf_defaults().forecast.smoothing_share)


def _is_told(series: Sequence[float]) -> bool:
    """Whether enough weeks have demand to tell how it varies."""
    return sum(1 for demand in series if demand) >= FEWEST_WEEKS
