"""Years with the planner in the loop, against a joint can-order policy that is tuned on the very same years.

`make reorder-years`: for twenty invented shelves (`shelves.py`) the service that was met and postage + holding a year, where
orders are planned by `plan_review`, beside the cheapest of a grid of can-order policies (Silver, Pyke and Thomas, ch. 10:
who falls to s begins an order, who is below c joins it, all up to S) with at least the same service, unforeseen and known.
That policy knows the years it is tuned on; the planner does not. Prints a table, fails nothing.
"""

import itertools
import sys
from collections.abc import Iterable, Mapping
from concurrent.futures import ProcessPoolExecutor
from datetime import date, timedelta
from decimal import Decimal
from math import ceil, sqrt
from pathlib import Path
from statistics import fmean, median

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parent)]

from shelves import DAYS_BEFORE, HOLDING_A_YEAR, REVIEW_DAYS, Policy, Shelf, Sight, Total, lived, shelf  # noqa: E402  the path is set above

from inventory.ground.money import currency_of  # noqa: E402  the path is set above
from inventory.replenish import plan_review  # noqa: E402  the path is set above
from inventory.replenish.problem import Demand, Offer, OpenOrder, Problem, Stocked, Supplier, Tier  # noqa: E402  the path is set above
from inventory.replenish.watch import Use as Used  # noqa: E402  the path is set above
from inventory.replenish.watch import Watch  # noqa: E402  the path is set above

SEEDS = range(20)
SERVICES = (0.80, 0.90, 0.95, 0.98)
BEGIN = date(2020, 1, 6)
GRID = tuple(
    itertools.product(
        (-1.0, -0.5, 0.0, 0.3, 0.6, 0.9, 1.3, 1.8, 2.4), (4.0, 6.0, 9.0, 13.0, 18.0, 24.0), (0.5, 0.8, 1.0)
    )
)
"""Spreads in s, weeks of use from s to S, and where between them c lies."""
EQUAL = 0.003  # of service counts as the same


def can_order(of: Shelf, spreads: float, weeks: float, joins: float) -> Policy:
    """Who is at s begins an order of its supplier; who is below c joins, up to S."""
    count = len(of.sales)
    unforeseen = np.zeros((count, DAYS_BEFORE // 7))
    mean = np.zeros(count)
    for use in of.uses:
        if use.day < DAYS_BEFORE:
            mean[use.material] += use.quantity / (DAYS_BEFORE / 7)
            if not use.is_known_ahead:
                unforeseen[use.material, use.day // 7] += use.quantity
    wait = np.array([(of.likely_days[sale.supplier] + REVIEW_DAYS) / 7 for sale in of.sales])
    low = unforeseen.mean(axis=1) * wait + spreads * unforeseen.std(axis=1) * np.sqrt(wait)
    full = low + weeks * mean
    joining = low + joins * (full - low)

    def policy(sight: Sight) -> Mapping[int, int]:
        position = np.array(sight.there)
        for _, material, quantity in sight.coming:
            position[material] += quantity
        for use in sight.known:
            if use.day <= sight.day + 7 * wait[use.material]:
                position[use.material] -= use.quantity
        begun = {sale.supplier for sale, at, least in zip(of.sales, position, low, strict=True) if at <= least}
        return {
            material: ceil((full[material] - position[material]) / sale.pack)
            for material, sale in enumerate(of.sales)
            if sale.supplier in begun and position[material] <= joining[material]
        }

    return policy


def planner(of: Shelf, service: float) -> Policy:
    """What `plan_review` orders."""

    def day(number: int) -> date:
        return BEGIN + timedelta(days=number)

    names = [f"M{material}" for material in range(len(of.sales))]
    offers = tuple(
        Offer(
            supplier=f"S{sale.supplier}",
            material=name,
            pack=Decimal(sale.pack),
            tiers=tuple(Tier(from_packs=start, price=Decimal(str(price))) for start, price in sale.prices),
        )
        for name, sale in zip(names, of.sales, strict=True)
    )
    suppliers = tuple(
        Supplier(
            code=f"S{number}",
            lead_days=of.likely_days[number],
            late_days=of.late_days[number],
            postage=Decimal(str(postage)),
            minimum_order=Decimal(str(of.least_goods[number])) or None,
        )
        for number, postage in enumerate(of.postage)
    )

    def policy(sight: Sight) -> Mapping[int, int]:
        today = day(sight.day)
        needs = [
            Demand(material=names[use.material], quantity=Decimal(use.quantity), day=day(use.day), job="K")
            for use in sight.known
        ]
        needs += [
            Demand(material=name, quantity=Decimal(int(-there)), day=today, job="waits")
            for name, there in zip(names, sight.there, strict=True)
            if there < 0
        ]
        problem = Problem(
            currency=currency_of("EUR"),
            as_of=today,
            holding_share_per_year=Decimal(str(HOLDING_A_YEAR)),
            surplus_days=Decimal(180),
            materials=tuple(
                Stocked(
                    code=name,
                    unit="m",
                    on_hand=Decimal(int(max(0, there))),
                    safety=Decimal(0),
                    unit_value=Decimal(str(value)),
                )
                for name, there, value in zip(names, sight.there, of.value, strict=True)
            ),
            needs=tuple(needs),
            open_orders=tuple(
                OpenOrder(material=names[material], quantity=Decimal(int(quantity)), day=max(day(likely), today))
                for likely, material, quantity in sight.coming
            ),
            offers=offers,
            suppliers=suppliers,
        )
        watch = Watch(
            review_days=REVIEW_DAYS,
            history=tuple(
                Used(material=names[use.material], day=day(use.day), quantity=Decimal(use.quantity))
                for use in sight.past
                if use.day > sight.day - DAYS_BEFORE
            ),
            service=dict.fromkeys(names, service),
        )
        plan = plan_review(problem, watch, seconds=5.0)
        return {int(line.offer.material[1:]): line.packs for order in plan.orders for line in order.lines}

    return policy


def cost(total: Total, *, with_goods: bool) -> float:
    return total.postage + total.holding + (total.goods if with_goods else 0.0)


def compared(case: tuple[int, bool]) -> list[tuple[float, Total, float | None]]:
    """For one shelf: service asked, what the planner came to, and what the tuned policy costs at the same service."""
    seed, with_breaks = case
    of = shelf(seed, with_breaks=with_breaks)
    tuned = [total for knobs in GRID if (total := _tried(of, *knobs)) is not None]
    rows = []
    for service in SERVICES:
        mine = lived(of, planner(of, service))
        equal = [
            cost(total, with_goods=with_breaks)
            for total in tuned
            if total.service >= mine.service - EQUAL and total.kept >= mine.kept - EQUAL
        ]
        rows.append((service, mine, min(equal, default=None)))
    return rows


def _tried(of: Shelf, *knobs: float) -> Total | None:
    """What a can-order policy comes to; None where it would order less than is sold."""
    try:
        return lived(of, can_order(of, *knobs))
    except AssertionError:
        return None


def table(cases: Iterable[list[tuple[float, Total, float | None]]], *, with_goods: bool) -> list[str]:
    by_service: dict[float, list[tuple[Total, float | None]]] = {service: [] for service in SERVICES}
    for rows in cases:
        for service, mine, other in rows:
            by_service[service].append((mine, other))
    lines = []
    for service, rows in by_service.items():
        costs = [cost(mine, with_goods=with_goods) for mine, _ in rows]
        pairs = [(at, other) for at, (_, other) in zip(costs, rows, strict=True) if other is not None]
        ratios = [at / other for at, other in pairs]
        met = [mine.service for mine, _ in rows]
        error = sqrt(np.var(met, ddof=1) / len(met)) if len(met) > 1 else 0.0
        lines.append(
            f"{service:>7.0%} {fmean(met):>8.1%} ± {error:.1%} {fmean(mine.kept for mine, _ in rows):>8.1%}"
            f" {fmean(mine.orders for mine, _ in rows):>8.1f} {fmean(mine.postage for mine, _ in rows):>9.0f}"
            f" {fmean(mine.holding for mine, _ in rows):>9.0f} {fmean(costs):>9.0f}"
            f" {fmean(other for _, other in pairs) if pairs else float('nan'):>9.0f}"
            f" {fmean(ratios) if ratios else float('nan'):>7.3f} {median(ratios) if ratios else float('nan'):>7.3f}"
            f" {len(pairs):>3}/{len(rows)}"
        )
    return lines


def main(seeds: Iterable[int]) -> None:
    head = "  asked      met            known   orders   postage   holding      cost     tuned   mean  median  of"
    for with_breaks in (False, True):
        words = "with price breaks and least orders: goods count too" if with_breaks else "postage and holding a year"
        sys.stdout.write(f"\n{words}\n{head}\n")
        with ProcessPoolExecutor(2) as pool:
            rows = list(pool.map(compared, [(seed, with_breaks) for seed in seeds]))
        sys.stdout.write("\n".join(table(rows, with_goods=with_breaks)) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(SEEDS if len(sys.argv) < 2 else range(int(sys.argv[1])))
