"""What it takes to order over time: past use, how often the maker looks, what share of unforeseen use is to be met."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

import numpy as np
from numpy.typing import NDArray

from inventory.ground.defaults import shelf_defaults

__all__ = ["Use", "Watch", "weekly_use"]

HISTORY_WEEKS = shelf_defaults().forecast.history_weeks
BELIEVABLE_GAP = shelf_defaults().forecast.believable_gap_intervals


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """What was used of a material on a day, known ahead or not."""

    material: str
    day: date
    quantity: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Watch:
    """How a shelf is watched.

    Attributes:
        review_days: the maker looks once in so many days, >= 1.
        history: what was used; a material without any in the last two years is not forecast.
        service: by material, the share of unforeseen use to be met from the shelf, between 0 and 1; a material that is
            not in it keeps the reserve that it was given, on top of its mean use until an order comes.
        cover_weeks: by material, how many weeks of use an order is to last for, where the maker says so.
    """

    review_days: int
    history: tuple[Use, ...]
    service: Mapping[str, float]
    cover_weeks: Mapping[str, float] = field(default_factory=dict)


def weekly_use(history: Iterable[Use], *, until: date) -> dict[str, NDArray[np.float64]]:
    """Return each material's use in the whole weeks that end with `until`, oldest first, two years of them at most.

    Weeks begin with the first use of anything, since from then on somebody wrote down. A material whose own first use
    is later than chance explains began then: its weeks begin with it. Gaps between uses at random are exponential: one
    in twenty is longer than three mean intervals. What came back lessens its week, never below nothing.
    """
    totals: dict[str, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    for use in history:
        weeks_ago = (until - use.day).days // 7
        if 0 <= weeks_ago < HISTORY_WEEKS:
            totals[use.material][weeks_ago] += float(use.quantity)
    longest = 1 + max((max(weeks) for weeks in totals.values()), default=0)
    series = {}
    for material, by_week in totals.items():
        if not any(amount > 0 for amount in by_week.values()):
            continue
        own = 1 + max(by_week)
        interval = own / len(by_week)
        length = longest if longest - own <= BELIEVABLE_GAP * interval else own
        row = np.zeros(length)
        for weeks_ago, amount in by_week.items():
            row[length - 1 - weeks_ago] = max(0.0, amount)
        series[material] = row
    return series
