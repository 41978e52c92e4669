"""Invented shelves whose years are lived through day by day, whoever orders: ten materials, three suppliers, lumpy use.

Common practice, no source: weekly chances of use between 0.12 and 0.7, sizes by a gamma distribution, two uses in five known
three to seven weeks ahead, leads lognormal between a likely and a late day. Holding costs 18 % of the value a year.
"""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from math import log
from statistics import NormalDist

import numpy as np

__all__ = ["DAYS_BEFORE", "Sale", "Shelf", "Sight", "Total", "Use", "lived", "shelf"]

DAYS_BEFORE, YEARS, WARM_UP_DAYS = 728, 3, 91
REVIEW_DAYS = 7
HOLDING_A_YEAR = 0.18
KNOWN_SHARE, NOTICE_DAYS = 0.4, (21, 50)


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """So much of a material is used on a day, and is known from another day on."""

    day: int
    material: int
    quantity: int
    known_on: int

    @property
    def is_known_ahead(self) -> bool:
        return self.known_on < self.day


@dataclass(frozen=True, slots=True, kw_only=True)
class Sale:
    """How a material is sold by its supplier: packs, prices of a pack from so many packs on."""

    supplier: int
    pack: int
    prices: tuple[tuple[int, float], ...]

    def price(self, packs: int) -> float:
        return next(price for start, price in reversed(self.prices) if packs >= start)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """A shelf, who sells what lies on it, and all that will be used of it."""

    seed: int
    value: tuple[float, ...]
    sales: tuple[Sale, ...]
    postage: tuple[float, ...] = (9.0, 14.0, 6.0)
    least_goods: tuple[float, ...] = (0.0, 0.0, 0.0)
    likely_days: tuple[int, ...] = (4, 10, 14)
    late_days: tuple[int, ...] = (8, 18, 28)
    uses: tuple[Use, ...]

    @property
    def days(self) -> int:
        return DAYS_BEFORE + 365 * YEARS


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """What a maker sees at a review: stock (below nothing where use waits), orders under way as (day that is likely,
    material, quantity), known work, and all use up to now."""

    day: int
    there: Sequence[float]
    coming: Sequence[tuple[int, int, float]]
    known: Sequence[Use]
    past: Sequence[Use]


@dataclass(slots=True)
class Total:
    """What the years came to; money a year, service of unforeseen and of known use as shares."""

    postage: float = 0.0
    holding: float = 0.0
    goods: float = 0.0
    orders: float = 0.0
    asked: dict[bool, float] = field(default_factory=lambda: defaultdict(float))
    met: dict[bool, float] = field(default_factory=lambda: defaultdict(float))

    @property
    def service(self) -> float:
        return self.met[False] / self.asked[False]

    @property
    def kept(self) -> float:
        return self.met[True] / self.asked[True]


Policy = Callable[[Sight], Mapping[int, int]]
"""From what is seen to packs by material."""


def shelf(seed: int, *, with_breaks: bool) -> Shelf:
    """Return an invented shelf; with breaks, a fifth less from about a season's packs on, and least orders."""
    chance = np.random.default_rng(seed)
    materials = 10
    often = chance.uniform(0.12, 0.7, materials)
    size = chance.uniform(1.5, 12, materials)
    spread = chance.uniform(0.4, 1.0, materials)
    value = np.round(chance.uniform(0.3, 6, materials), 2)
    packs = chance.choice([1, 2, 5, 10], materials)
    suppliers = (0, 0, 0, 0, 1, 1, 1, 2, 2, 2)
    uses = []
    for material in range(materials):
        for week in range((DAYS_BEFORE + 365 * YEARS) // 7):
            if chance.random() < often[material]:
                shape = 1 / spread[material] ** 2
                quantity = max(1, round(chance.gamma(shape, size[material] / shape)))
                day = 7 * week + int(chance.integers(0, 7))
                ahead = int(chance.integers(*NOTICE_DAYS)) if chance.random() < KNOWN_SHARE else 0
                uses.append(Use(day=day, material=material, quantity=quantity, known_on=day - ahead))
    sales = []
    for material in range(materials):
        price = round(float(value[material] * packs[material]), 2)
        season = max(2, round(float(often[material] * size[material] * 20 / packs[material])))
        prices = ((1, price), (season, round(0.8 * price, 2))) if with_breaks else ((1, price),)
        sales.append(Sale(supplier=suppliers[material], pack=int(packs[material]), prices=prices))
    return Shelf(
        seed=seed,
        value=tuple(value.tolist()),
        sales=tuple(sales),
        least_goods=(20.0, 0.0, 30.0) if with_breaks else (0.0, 0.0, 0.0),
        uses=tuple(sorted(uses, key=lambda use: use.day)),
    )


def lived(of: Shelf, policy: Policy) -> Total:
    """Return what three years come to where a policy orders at each review; the first quarter is not counted.

    Use that finds nothing waits and is met first from what comes; it counts as not met. Leads are drawn alike for
    whoever orders: by the number of the order.
    """
    chance = np.random.default_rng(1_000 + of.seed)
    spread = [
        log(late / likely) / NormalDist().inv_cdf(0.9)
        for likely, late in zip(of.likely_days, of.late_days, strict=True)
    ]
    before = [use for use in of.uses if use.day < DAYS_BEFORE]
    weekly = np.zeros(len(of.sales))
    for use in before:
        weekly[use.material] += 7 * use.quantity / DAYS_BEFORE
    pack = np.array([sale.pack for sale in of.sales])
    value = np.array(of.value)
    there = np.ceil(6 * weekly / pack) * pack
    coming: list[tuple[int, int, int, float]] = []
    past, ahead = list(before), [use for use in of.uses if use.day >= DAYS_BEFORE]
    by_day: dict[int, list[Use]] = defaultdict(list)
    for use in ahead:
        by_day[use.day].append(use)
    total, counted_from = Total(), DAYS_BEFORE + WARM_UP_DAYS
    for day in range(DAYS_BEFORE, of.days):
        counts = day >= counted_from
        for arrival in [arrival for arrival in coming if arrival[0] == day]:
            there[arrival[2]] += arrival[3]
            coming.remove(arrival)
        if (day - DAYS_BEFORE) % REVIEW_DAYS == 0:
            known = [use for use in ahead if use.is_known_ahead and use.known_on <= day <= use.day]
            ordered = policy(
                Sight(
                    day=day,
                    there=there.tolist(),
                    coming=[(likely, material, quantity) for _, likely, material, quantity in coming],
                    known=known,
                    past=past,
                )
            )
            by_supplier: dict[int, dict[int, int]] = defaultdict(dict)
            for material, packs in ordered.items():
                if packs:
                    by_supplier[of.sales[material].supplier][material] = packs
            for supplier, lines in by_supplier.items():
                drawn = of.likely_days[supplier] * np.exp(spread[supplier] * chance.standard_normal())
                comes, likely = day + max(1, round(float(drawn))), day + of.likely_days[supplier]
                goods = sum(packs * of.sales[material].price(packs) for material, packs in lines.items())
                assert goods >= of.least_goods[supplier], "Less is not sold."
                if counts:
                    total.orders += 1
                    total.postage += of.postage[supplier]
                    total.goods += goods
                coming += [
                    (comes, likely, material, float(packs * pack[material])) for material, packs in lines.items()
                ]
        for use in by_day[day]:
            if counts:
                total.asked[use.is_known_ahead] += use.quantity
                total.met[use.is_known_ahead] += min(max(0.0, there[use.material]), use.quantity)
            there[use.material] -= use.quantity
            past.append(use)
        if counts:
            total.holding += float((np.maximum(there, 0) * value).sum()) * HOLDING_A_YEAR / 365
    years = (of.days - counted_from) / 365
    total.postage, total.holding, total.goods = total.postage / years, total.holding / years, total.goods / years
    total.orders /= years
    # What is left over at the end was paid for and not used: shelves differ by it, and a year's goods do not.
    left = float((np.maximum(there, 0) * value).sum()) + sum(value[row[2]] * row[3] for row in coming)
    total.goods -= left / years
    return total
