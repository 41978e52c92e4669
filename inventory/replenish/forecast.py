"""How much of a material will be used in a week, and how its use varies.

Words: a *series* is the use in each whole week, oldest first, each >= 0; many weeks of a small workroom are zero. A *size*
is the use of a week that has any, an *interval* the weeks from one such week to the next.

Sources: Croston, Operational Research Quarterly 23(3), 1972, 289–303; Syntetos and Boylan, International Journal of
Forecasting 21, 2005, 303–314 (the correction); Syntetos, Boylan and Croston, Journal of the Operational Research
Society 56, 2005, 495–503 (the classes).
"""

from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
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
    "told_per_week",
]

INTERVAL_BORDER = Fraction(shelf_defaults().forecast.interval_border)
VARIATION_BORDER = Fraction(shelf_defaults().forecast.variation_border)
# How a use per week is told: powers of ten, and digits.
FEWEST_PLACES, SIGNIFICANT_DIGITS = -3, 3
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


def told_per_week(per_week: float) -> Decimal:
    """Return a use per week as it is told: to three places, and of what is less than one to three significant digits.

    >>> told_per_week(41.23456), told_per_week(0.000412345)
    (Decimal('41.235'), Decimal('0.000412'))
    """
    exact = Decimal(per_week)
    places = min(FEWEST_PLACES, exact.adjusted() + 1 - SIGNIFICANT_DIGITS) if exact else FEWEST_PLACES
    return exact.quantize(Decimal(1).scaleb(places), rounding=ROUND_HALF_UP)


def _is_told(series: Sequence[float]) -> bool:
    """Whether enough weeks have demand to tell how it varies."""
    return sum(1 for demand in series if demand) >= FEWEST_WEEKS
