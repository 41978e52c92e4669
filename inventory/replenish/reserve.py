"""The reserve of a material that is looked at once in a review: what must be there so that waiting for the next is safe.

Words: *service* is the share of unforeseen use that is met from the shelf. A *reserve* is the least position (what is
there and on its way, less known work) with which the next review is soon enough. *Short* is what is asked for and not there.

Whoever does not order today orders at the next review, and has it a lead time later; what is short by then belongs to
one cycle. Of a cycle's unforeseen use, 1 − service may be short. A material that begins only one order in five may be
short five times as much when it does: in the other four it was filled up before it ran low.

Sources: Silver, Pyke and Thomas, Inventory and Production Management in Supply Chains, 4th ed. 2017, 6.7 (the share met
from the shelf, P2) and 6.9 (periodic review: lead time plus review); Bookbinder and Lordahl, IIE Transactions 21, 1989,
302–312 (bootstrap of lead-time demand); Aitchison and Brown, The Lognormal Distribution, 1957 (a lead from two quantiles).
"""

from dataclasses import dataclass
from math import log
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from inventory.ground.defaults import shelf_defaults

__all__ = ["Lead", "lead_draws", "reserve_of", "use_until_next_chance"]

DRAWS = 400
LATE_SHARE = shelf_defaults().suppliers.come_percent / 100
LONGEST_LEAD_DAYS = 3650  # as long as the late days of a plan's file may be

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lead:
    """Days from order to delivery: the `likely` one is the median, nine in ten are there after `late` days at the latest."""

    likely: int
    late: int


def lead_draws(lead: Lead, *, seed: int) -> Numbers:
    """Return drawn leads in whole days: lognormal through both days, constant where they are one.

    None is below zero, and none above ten years: an order that late is lost.
    """
    if lead.late <= lead.likely:
        return np.full(DRAWS, float(lead.likely))
    # From a day up, so that a lead of no days has a logarithm.
    spread = log((lead.late + 1) / (lead.likely + 1)) / NormalDist().inv_cdf(LATE_SHARE)
    drawn = (lead.likely + 1) * np.exp(spread * np.random.default_rng(seed).standard_normal(DRAWS)) - 1
    days: Numbers = np.clip(np.rint(drawn), 0.0, LONGEST_LEAD_DAYS)
    return days


def use_until_next_chance(
    weeks: Numbers, *, review_days: int, leads: Numbers, unforeseen_share: float, seed: int
) -> Numbers:
    """Return drawn unforeseen use, one a drawn lead, until an order of the next review would be there.

    Args:
        weeks: past use of one material by week, >= 0.
        leads: days, as from `lead_draws`.
        unforeseen_share: a week's use is unforeseen with this chance, between 0 and 1; else it is known work.
    """
    chance = np.random.default_rng(seed)
    waits = (leads + review_days) / 7
    whole = np.floor(waits).astype(np.int64)
    most = int(whole.max()) + 1
    drawn = weeks[chance.integers(0, len(weeks), (len(leads), most))]
    drawn = np.where(chance.random(drawn.shape) < unforeseen_share, drawn, 0.0)
    # A part of a week has the week's use with the chance of that part.
    begun = whole + (chance.random(len(leads)) < waits - whole)
    total: Numbers = np.where(np.arange(most) < begun[:, np.newaxis], drawn, 0.0).sum(axis=1)
    return total


def reserve_of(use: Numbers, *, allowed_short: float) -> float:
    """Return the least reserve, >= 0, with which on the average no more than `allowed_short` of the drawn use is short.

    Short is Σ max(0, use − reserve) ÷ draws: between two drawn amounts it falls in a straight line, so it is solved exactly.
    """
    ordered = np.sort(use)[::-1]
    # With the reserve at the k-th largest, exactly the k larger ones are short.
    totals, count = 0.0, len(ordered)
    for place, amount in enumerate(ordered, start=1):
        totals += float(amount)
        following = float(ordered[place]) if place < count else 0.0
        if (totals - place * following) / count > allowed_short:
            return max(0.0, (totals - allowed_short * count) / place)
    return 0.0
