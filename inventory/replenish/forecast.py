"""How much of a material will be used, and what reserve bridges the wait for a delivery.

Words: a *series* is the use in each whole week, oldest first, in whole base units, each >= 0; many weeks of a small
workroom are zero. A *size* is the use of a week that has any, an *interval* the weeks from one such week to the next.
*Service* is the share of lead times, between 0 and 1, that pass without a shortage. *Lead* is the wait from order to
delivery in weeks, and its *spread* the standard deviation of that wait.

Sources: Croston, Operational Research Quarterly 23(3), 1972, 289–303; Syntetos and Boylan, International Journal of
Forecasting 21, 2005, 303–314 (the correction); Syntetos, Boylan and Croston, Journal of the Operational Research
Society 56, 2005, 495–503 (the classes); Heizer and Render, Operations Management, ch. 12 (demand and lead time both
vary); Bookbinder and Lordahl, IIE Transactions 21, 1989, 302–312 (bootstrap of lead-time demand).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction
from math import ceil, sqrt
from statistics import NormalDist, fmean, stdev
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from inventory.ground.defaults import shelf_defaults

__all__ = [
    "DemandClass",
    "Expectation",
    "SafetyStock",
    "average_interval",
    "classify",
    "croston",
    "expected_per_week",
    "lead_time_demand",
    "normal_safety_stock",
    "reorder_point",
    "safety_stock",
    "size_variation",
    "syntetos_boylan",
    "weekly",
]

Amount = TypeVar("Amount", int, float)

INTERVAL_BORDER = Fraction(shelf_defaults().forecast.interval_border)
VARIATION_BORDER = Fraction(shelf_defaults().forecast.variation_border)
FEWEST_WEEKS = shelf_defaults().forecast.fewest_weeks
DRAWS = 2000


class DemandClass(StrEnum):
    """How a material is used: often or seldom, in like or unlike sizes."""

    SMOOTH = "smooth"
    INTERMITTENT = "intermittent"
    ERRATIC = "erratic"
    LUMPY = "lumpy"


@dataclass(frozen=True, slots=True, kw_only=True)
class SafetyStock:
    """A reserve and why it is so large.

    Attributes:
        quantity: whole base units, >= 0.
        rule: one sentence with the numbers that led to it, none of them in base units.
        expected_per_week: the forecast, base units per week.
    """

    quantity: int
    rule: str
    expected_per_week: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """Base units of an item: the reserve, and what is expected to be used within the horizon.

    `rule` says in words where both come from.
    """

    rule: str
    safety: int
    use: int
    horizon_days: int


def weekly(
    used: Iterable[tuple[int, date | str, int]], *, until: date, weeks: int, from_first: bool = False
) -> dict[int, tuple[int, ...]]:
    """Return what was used of each item in each of the `weeks` whole weeks that end with the day `until`, oldest first.

    What was used before or after them is left out. What came back (quantity < 0) lessens the use of its week, never
    below nothing.

    Args:
        used: item, day (ISO 8601 where it is text) and quantity; an item may have several on a day.
        from_first: begin each item's series with the week of its first row, since earlier ones would count as without use.

    >>> weekly([(7, "2027-01-04", 3), (7, date(2027, 1, 10), 1)], until=date(2027, 1, 10), weeks=2)
    {7: (0, 4)}
    """
    # Loaded where it is needed: most of what imports this module never asks for a series.
    import pandas as pd

    rows = pd.DataFrame.from_records(list(used), columns=["item", "day", "quantity"])
    ends = pd.date_range(end=until, periods=weeks, freq="7D")
    rows["day"] = pd.to_datetime(rows["day"], format="ISO8601")
    rows = rows[rows["day"].between(ends[0] - pd.Timedelta(days=6), ends[-1])]
    if rows.empty:
        return {}
    by_day = rows.groupby(["day", "item"])["quantity"].sum().unstack(fill_value=0)
    by_week = by_day.resample("7D", origin=ends[-1], closed="right", label="right").sum().reindex(ends, fill_value=0)
    firsts = rows.groupby("item")["day"].min()
    begins = ends.searchsorted(firsts).tolist() if from_first else [0] * len(firsts)
    series = by_week[firsts.index].clip(lower=0).to_numpy().T.tolist()
    return {item: tuple(row[begin:]) for item, row, begin in zip(firsts.index.tolist(), series, begins, strict=True)}


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


def average_interval(series: Sequence[int]) -> Fraction:
    """Return ADI: periods ÷ periods with demand. Raises ValueError without any demand."""
    return Fraction(len(series), len(_sizes(series)))


def size_variation(series: Sequence[int]) -> Fraction:
    """Return CV² of the sizes: their population variance ÷ their squared mean. Raises ValueError without any demand."""
    sizes = _sizes(series)
    return Fraction(len(sizes) * sum(size * size for size in sizes), sum(sizes) ** 2) - 1


def classify(series: Sequence[float]) -> DemandClass:
    """Return the class of a series: seldom where ADI is above its border, of unlike sizes from that of CV² on.

    >>> classify([0, 0, 4, 0, 0, 0, 5])
    <DemandClass.INTERMITTENT: 'intermittent'>

    Raises:
        ValueError: there is no demand at all.
    """
    sizes = _sizes(series)
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


def lead_time_demand(
    series: Sequence[int], *, lead_weeks: float, lead_spread_weeks: float, draws: int, seed: int
) -> NDArray[np.int64]:
    """Return so many bootstrapped demands over one lead time.

    Each lead time is drawn from a normal distribution and rounded to whole weeks, one at least; its weeks are drawn
    from the series with replacement. The same seed gives the same draws.
    """
    chance = np.random.default_rng(seed)
    leads = np.maximum(1, np.rint(chance.normal(lead_weeks, lead_spread_weeks, draws)).astype(np.int64))
    weeks = chance.choice(np.asarray(series, dtype=np.int64), (draws, int(leads.max())))
    weeks[np.arange(weeks.shape[1]) >= leads[:, np.newaxis]] = 0
    demands: NDArray[np.int64] = weeks.sum(axis=1)
    return demands


def normal_safety_stock(mean: float, deviation: float, lead: float, lead_deviation: float, service: float) -> float:
    """Return z · √(L·σd² + d²·σL²), where demand per period and lead time both vary and are near normal.

    Args:
        mean: d, demand per period.
        deviation: σd, its standard deviation.
        lead: L, lead time in periods.
        lead_deviation: σL, its standard deviation; 0 for a lead time that is kept to.
        service: between 0 and 1; z is its exact normal quantile, below 0 under one half.
    """
    return NormalDist().inv_cdf(service) * sqrt(lead * deviation**2 + mean**2 * lead_deviation**2)


def reorder_point(*, mean: float, lead: float, safety: float) -> float:
    """Return the stock, with what is on order, at which to order again: mean demand over the lead time + safety."""
    return mean * lead + safety


def safety_stock(
    series: Sequence[int], *, lead_weeks: float, lead_spread_weeks: float, service: float, seed: int
) -> SafetyStock:
    """Return the reserve for a material used as in `series`, rounded up to whole base units.

    Smooth demand takes the normal formula and the mean of the series. Every other class takes the quantile of the
    bootstrapped lead-time demand less its mean, and the Syntetos–Boylan forecast. A history without demand, or with
    demand in fewer than `FEWEST_WEEKS` weeks, gives no reserve.
    """
    if not 0 < service < 1:
        raise ValueError(f"A service of {service} is not between 0 and 1.")
    expected = expected_per_week(series)
    if not _is_told(series):
        return SafetyStock(quantity=0, rule=_too_short(series), expected_per_week=expected)
    found = classify(series)
    begin = (
        f"Use is {found.value} (one week in {float(average_interval(series)):.2f} has any, "
        f"CV² of its sizes {float(size_variation(series)):.2f}), so the reserve is"
    )
    share, lead = f"{service * 100:.4g} %", f"{lead_weeks:.3g} ± {lead_spread_weeks:.3g} weeks"
    if found is DemandClass.SMOOTH:
        deviation = stdev(series)
        reserve = normal_safety_stock(expected, deviation, lead_weeks, lead_spread_weeks, service)
        z = NormalDist().inv_cdf(service)
        end = (
            f"z = {z:.3f} for {share} of lead times without a shortage, times the spread of use over {lead}, where a "
            f"week’s use varies by {deviation / expected:.2f} of its mean."
        )
        return SafetyStock(quantity=max(0, ceil(reserve)), rule=f"{begin} {end}", expected_per_week=expected)
    demands = lead_time_demand(
        series, lead_weeks=lead_weeks, lead_spread_weeks=lead_spread_weeks, draws=DRAWS, seed=seed
    )
    place = ceil(service * DRAWS) - 1
    enough = int(np.partition(demands, place)[place])
    end = (
        f"what is enough for {share} of {DRAWS} lead times of {lead}, drawn at random from the {len(series)} weeks of "
        "its history, less the mean of those draws."
    )
    return SafetyStock(
        quantity=max(0, ceil(enough - Fraction(int(demands.sum()), DRAWS))),
        rule=f"{begin} {end}",
        expected_per_week=expected,
    )


def _sizes(series: Sequence[Amount]) -> list[Amount]:
    sizes = [demand for demand in series if demand]
    if not sizes:
        raise ValueError("A series without any demand has no class.")
    return sizes


def _is_told(series: Sequence[float]) -> bool:
    """Whether enough weeks have demand to tell how it varies."""
    return sum(1 for demand in series if demand) >= FEWEST_WEEKS


def _too_short(series: Sequence[int]) -> str:
    if not any(series):
        return f"Nothing was used in the last {len(series)} weeks, so no reserve is kept."
    return (
        f"Only {len(_sizes(series))} of the last {len(series)} weeks had any use and it takes {FEWEST_WEEKS} to tell how "
        "it varies, so no reserve is kept."
    )
