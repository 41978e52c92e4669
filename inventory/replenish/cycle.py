"""How long an order should last: the cycle of materials that come from one supplier, and share its postage.

Words: a *cycle* is the time from one order to the next. An order is begun by whichever material first falls to its
reserve, and fills all of them up for the same number of weeks, the *cover*: where a line more costs nothing, a material
that joins an order waits no shorter for the next one. *Weeks* are a material's past use by week in any unit, >= 0.

Cost per week = (postage + what holding costs within a cycle) ÷ weeks of a cycle, both expected: the renewal-reward
theorem (Ross, Stochastic Processes, 1983, 3.6). Use is drawn from past weeks with replacement, all materials apart.

Sources: Silver, Pyke and Thomas, Inventory and Production Management in Supply Chains, 4th ed. 2017, ch. 10 (coordinated
replenishment, can-order levels); Atkins and Iyogun, Management Science 34, 1988, 791–796, and Viswanathan, Management
Science 43, 1997, 1447–1454 (periodic reviews of a family with one cover do as well as can-order levels, or better).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from inventory.ground.defaults import shelf_defaults

__all__ = ["LONGEST_WEEKS", "Cycle", "Numbers", "joint_cycle"]

DRAWS = 160
LONGEST_WEEKS = shelf_defaults().use.longest_cover_weeks
HOPELESS = 1.5  # times the least cost so far: longer covers only hold more
STEP = 1.15  # from one cover that is tried to the next; the cost is flat around its least

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """The cheapest cover and what comes of it.

    Attributes:
        cover_weeks: how many weeks of expected use an order fills every material up for, beyond its reserve.
        weeks: expected time to the next order, no longer than the cover by much: the first to run low begins it.
        begins: for each material, how often it is the one that begins an order, between 0 and 1.
    """

    cover_weeks: float
    weeks: float
    begins: tuple[float, ...]


def joint_cycle(
    weeks: Sequence[Numbers],
    *,
    holding_per_week: Numbers,
    order_cost: Callable[[float], float],
    review_weeks: int,
    seed: int,
) -> Cycle:
    """Return the cover with the least postage and holding per week.

    Args:
        weeks: of each material its past use by week, each with some use; they may be of unlike length.
        holding_per_week: what a unit of each material costs to hold for a week, >= 0.
        order_cost: what an order costs that comes so many weeks after the last one.
        review_weeks: orders go out once in so many weeks at most, >= 1.
        seed: the same seed gives the same draws.
    """
    mean = np.array([series.mean() for series in weeks])
    reviews = max(1, LONGEST_WEEKS // review_weeks)
    chance = np.random.default_rng(seed)
    drawn = np.stack([chance.choice(series, (DRAWS, reviews, review_weeks)) for series in weeks])
    used = drawn.sum(axis=3).cumsum(axis=2)
    best: tuple[float, Cycle] | None = None
    cover = float(review_weeks)
    while cover <= LONGEST_WEEKS:
        cost, cycle = _tried(cover, used, mean * cover, holding_per_week, order_cost, review_weeks)
        if best is None or cost < best[0]:
            best = cost, cycle
        elif cost > HOPELESS * best[0]:
            break
        cover *= STEP
    assert best is not None
    return best[1]


def _tried(
    cover: float,
    used: Numbers,
    filled: Numbers,
    holding_per_week: Numbers,
    order_cost: Callable[[float], float],
    review_weeks: int,
) -> tuple[float, Cycle]:
    """Cost per week and cycle where every material is filled up to `filled` above its reserve."""
    left = filled[:, np.newaxis, np.newaxis] - used
    has_run_low = left <= 0
    low_at: NDArray[np.bool_] = np.logical_or.reduce(has_run_low, axis=0)
    first = np.where(low_at[:, -1], low_at.argmax(axis=1), low_at.shape[1] - 1)
    lengths = (first + 1) * review_weeks
    kept = np.einsum("idr,i->dr", np.maximum(left, 0.0), holding_per_week) * review_weeks
    within = np.arange(kept.shape[1]) < first[:, np.newaxis]
    begun = float(filled @ holding_per_week) * review_weeks
    # Between two reviews the shelf is as full as on the average of both.
    holding = begun / 2 + (kept * within).sum(axis=1) + kept[np.arange(len(first)), first] / 2
    # What falls below the reserve before its order goes out has to lie there for the whole cycle.
    below = np.maximum(-left[:, np.arange(len(first)), first], 0.0)
    holding += lengths * np.einsum("id,i->d", below, holding_per_week)
    expected = float(lengths.mean())
    begins = has_run_low[:, np.arange(len(first)), first].mean(axis=1)
    cost = (order_cost(expected) + float(holding.mean())) / expected
    return cost, Cycle(cover_weeks=cover, weeks=expected, begins=tuple(begins.tolist()))
