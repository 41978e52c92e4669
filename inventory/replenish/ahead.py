"""What it is worth to have a material along in an order that goes out anyway.

A unit that is bought now need not be bought later: that is worth its usual cost. Within the cover of its supplier's cycle
it also puts the next order off, which is worth the more the sooner it would be used; beyond the cover it only lies.
At the end of the cover both are even: the marginal form of Harris's square root. All that an order can put off together
is worth no more than one postage. What costs nothing to keep is even at every moment, and is then had along.
"""

from collections import defaultdict
from collections.abc import Mapping
from decimal import ROUND_FLOOR, Decimal

from inventory.replenish.cycle import LONGEST_WEEKS
from inventory.replenish.problem import Ahead, Problem
from inventory.replenish.sourcing import Sourcing

__all__ = ["worth_ahead"]

# Shares of a cover at which worth falls a step: fine while it puts an order off, coarse where much is bought at once.
ENDS = (*(part / 8 for part in range(1, 13)), 2.0, 2.5, 3.0, 4.0, 6.0, 9.0)
FINENESS = Decimal("0.000001")
# Shares a postage out where nothing costs anything to keep: half a per cent of the usual cost a year, too little to weigh.
LEAST_HOLDING_PER_WEEK = 0.0001


def worth_ahead(
    problem: Problem,
    usual: Sourcing,
    *,
    per_week: Mapping[str, float],
    own_cover: Mapping[str, float],
    later: Mapping[str, list[tuple[float, float]]],
    left_over: Mapping[str, float],
) -> tuple[Ahead, ...]:
    """Return what is worth having along, soonest first within each material.

    Args:
        per_week: expected use of each material that is forecast.
        own_cover: weeks of use that an order is to last for, where the maker says so.
        later: of each material, known work that may wait: weeks from the next chance on, and quantity.
        left_over: what is there beyond the reserve and the work that cannot wait: it serves the soonest use.
    """
    raw: list[tuple[str, float, float, float]] = []
    bonus: dict[str, float] = defaultdict(float)
    for code in sorted(set(per_week) | set(later)):
        if code not in usual.supplier:
            continue
        cover, holding = own_cover.get(code) or usual.cover_weeks(code), usual.holding_per_week[code]
        saved = max(holding, LEAST_HOLDING_PER_WEEK * usual.unit_cost[code])
        there, before, begin = left_over.get(code, 0.0), 0.0, 0.0
        for end in (min(cover * share, LONGEST_WEEKS) for share in ENDS):
            known = sum(quantity for weeks, quantity in later.get(code, ()) if weeks <= end)
            total = max(per_week.get(code, 0.0) * end, known)
            quantity = total - max(before, min(total, there))
            middle = (begin + end) / 2
            # What is there already puts the order off as well.
            bonus[usual.supplier[code]] += max(0.0, total - before) * max(0.0, cover - middle) * saved
            if quantity > 0:
                put_off = max(0.0, cover - middle) * saved
                raw.append((code, quantity, put_off, max(0.0, middle - cover) * holding))
            before, begin = max(before, total), end
    suppliers = {row.code: row for row in problem.suppliers}
    share = {code: min(1.0, float(suppliers[code].postage) / value) if value else 0.0 for code, value in bonus.items()}
    return tuple(
        Ahead(
            material=usual.bought_as(code),
            quantity=Decimal(quantity).quantize(FINENESS, rounding=ROUND_FLOOR),
            worth=usual.unit_cost[code] + share[usual.supplier[code]] * put_off - lying,
        )
        for code, quantity, put_off, lying in raw
        if quantity >= FINENESS
    )
