"""A problem of replenishment, and the plan that answers it.

Words: a *source* is stock, an open order or a purchase, of one code and there from one day on; a *need* takes from
sources of its own code or of a substitute; a *tier* is a price that holds for all packs of a line from a number of
packs on. Quantities are decimals in the material's unit, money decimals of one currency.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from inventory.ground.findings import Finding
from inventory.ground.money import Currency

__all__ = [
    "Ahead",
    "Demand",
    "ExpectedUse",
    "NextOrder",
    "Offer",
    "OpenOrder",
    "Order",
    "OrderLine",
    "Plan",
    "Problem",
    "Shortage",
    "Stocked",
    "Supplier",
    "Tier",
    "Waiting",
    "Watched",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stocked:
    """A material: what lies there, what must remain at the end, what one unit is worth, what may stand in for it."""

    code: str
    unit: str
    on_hand: Decimal
    safety: Decimal
    unit_value: Decimal
    substitutes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """A need of a job by a day."""

    material: str
    quantity: Decimal
    day: date
    job: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenOrder:
    """What is on its way already and comes on a day."""

    material: str
    quantity: Decimal
    day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Tier:
    """The price of a pack, for all packs of the line, from so many packs on."""

    from_packs: int
    price: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A pack of a material at a supplier; tiers by rising number of packs."""

    supplier: str
    material: str
    pack: Decimal
    tiers: tuple[Tier, ...]
    minimum_packs: int = 1

    @property
    def fewest_packs(self) -> int:
        """The least that is sold."""
        return max(self.minimum_packs, self.tiers[0].from_packs)

    def price(self, packs: int) -> Decimal:
        """The price of a pack where so many are bought; `packs` is at least `fewest_packs`."""
        return next(tier.price for tier in reversed(self.tiers) if packs >= tier.from_packs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplier:
    """Postage, from what value of goods it is free, the least value that is taken, and days until an order comes.

    Attributes:
        lead_days: days that an order usually takes.
        late_days: days within which nine in ten have come; None where only the usual days are known.
    """

    code: str
    lead_days: int
    postage: Decimal
    postage_free_from: Decimal | None = None
    minimum_order: Decimal | None = None
    late_days: int | None = None

    @property
    def latest_days(self) -> int:
        """Days within which nine orders in ten have come; the usual days where nothing else is known."""
        return self.lead_days if self.late_days is None else max(self.lead_days, self.late_days)

    def postage_on(self, goods: Decimal) -> Decimal:
        """Postage of an order of that value."""
        is_free = self.postage_free_from is not None and goods >= self.postage_free_from
        return Decimal(0) if is_free else self.postage


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """A quantity beyond needs and safety that is worth having along, and what a unit of it is worth, in the currency.

    Floats, since the worth is an expectation; it decides what is bought and is never part of a sum of money.
    """

    material: str
    quantity: Decimal
    worth: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """What is there, what is needed, what can be had; `ahead` says what more is worth having along."""

    currency: Currency
    as_of: date
    holding_share_per_year: Decimal
    surplus_days: Decimal
    materials: tuple[Stocked, ...]
    needs: tuple[Demand, ...]
    open_orders: tuple[OpenOrder, ...]
    offers: tuple[Offer, ...]
    suppliers: tuple[Supplier, ...]
    ahead: tuple[Ahead, ...] = ()

    def material(self, code: str) -> Stocked:
        """The material of a code."""
        return next(row for row in self.materials if row.code == code)

    def supplier(self, code: str) -> Supplier:
        """The supplier of a code."""
        return next(row for row in self.suppliers if row.code == code)

    @property
    def arrivals(self) -> dict[str, date]:
        """The day on which an order placed on `as_of` comes, by supplier."""
        return {row.code: self.arrival(row) for row in self.suppliers}

    def arrival(self, supplier: Supplier) -> date:
        """The day on which an order placed on `as_of` comes."""
        return self.as_of + timedelta(days=supplier.lead_days)

    def holding_per_unit(self, material: Stocked) -> Decimal:
        """What one unit costs that is bought beyond needs and safety, unrounded."""
        return self.holding_share_per_year * self.surplus_days / 365 * material.unit_value


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """Packs of one offer, and why."""

    offer: Offer
    packs: int
    why: str

    @property
    def quantity(self) -> Decimal:
        """What the packs hold."""
        return self.packs * self.offer.pack

    @property
    def unit_price(self) -> Decimal:
        """The price of one pack."""
        return self.offer.price(self.packs)

    @property
    def amount(self) -> Decimal:
        """The price of the line."""
        return self.packs * self.unit_price


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """One order to one supplier; `order_by` is the last day on which it is still in time."""

    supplier: Supplier
    order_by: date
    lines: tuple[OrderLine, ...]

    @property
    def goods(self) -> Decimal:
        """Value of the goods."""
        return sum((line.amount for line in self.lines), Decimal(0))

    @property
    def postage(self) -> Decimal:
        """Postage of the order."""
        return self.supplier.postage_on(self.goods)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortage:
    """A part of a need that comes late."""

    need: Demand
    quantity: Decimal
    late_days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedUse:
    """What is expected of a material: use per week, known work included, and the reserve kept beyond known work.

    `rule` says in words where both come from, without amounts of the material.
    """

    material: str
    per_week: Decimal
    reserve: Decimal
    rule: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NextOrder:
    """When a supplier's next order is likely to go out, and the material that will then be at its reserve first."""

    supplier: str
    about: date
    material: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """Known work that may wait: what of it is not there yet, and the last day on which an order is surely in time."""

    material: str
    quantity: Decimal
    job: str
    day: date
    until: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """What a review found beside its order.

    Attributes:
        next_review: when to look again.
        expected: of each material that is forecast, what is used and kept in reserve.
        next_orders: which orders are likely to follow.
        waiting: known work that a later order serves in time.
    """

    next_review: date
    expected: tuple[ExpectedUse, ...]
    next_orders: tuple[NextOrder, ...]
    waiting: tuple[Waiting, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The joint order.

    Attributes:
        line_by_line_total: None where material by material would break a rule or come later, and where what is worth
            having along is counted.
        cost: goods, postage and holding, less what is worth having along; it decides, and is no money of the order.
        watched: what a review found; None where no use is forecast.
    """

    problem: Problem
    orders: tuple[Order, ...]
    shortages: tuple[Shortage, ...]
    holding: Decimal
    line_by_line_total: Decimal | None
    is_optimal: bool
    cost: float
    bound: Decimal
    findings: Sequence[Finding] = ()
    watched: Watched | None = None

    @property
    def total(self) -> Decimal:
        """Goods, postage and holding."""
        return sum((order.goods + order.postage for order in self.orders), Decimal(0)) + self.holding

    @property
    def saving(self) -> Decimal | None:
        """What ordering jointly saves."""
        return None if self.line_by_line_total is None else self.line_by_line_total - self.total
