"""Rates going in, a costing coming out. Money and shares are Decimal; shares run from 0 to 1."""

from dataclasses import dataclass, field
from decimal import Decimal

from inventory.ground.findings import Finding
from inventory.ground.money import RoundingRule
from quotes.takeoff.takeoff import Reason

__all__ = ["CostLine", "Costing", "Extra", "Rates"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """The studio's rates for one quote; the commission file's `rates`. `rounding` is the tax rounding rule."""

    labour_per_hour: Decimal
    overhead_per_hour: Decimal
    contingency_share: Decimal
    margin_share: Decimal
    fee_share: Decimal
    fee_fixed: Decimal
    tax_share: Decimal
    tax_included: bool
    deposit_shares: tuple[Decimal, ...]
    minimum_per_hour: Decimal | None = None
    discount_share: Decimal = Decimal(0)
    rush_share: Decimal = Decimal(0)
    price_step: Decimal | None = None
    rounding: RoundingRule = RoundingRule.HALF_UP


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """A direct cost outside the takeoff (travel, courier, hired model)."""

    what: str
    amount: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLine:
    """One line of the costing; `amount` is rounded.

    `group` is material, labour, overhead or contingency; any other, such as extra, is a direct cost. `material` is the
    code of what the shelf issues for it, empty for none; `reason` says where the quantity comes from, `overruled` what
    it was before the maker set another, and why.
    """

    group: str
    code: str
    what: str
    quantity: Decimal
    unit: str
    rate: Decimal
    amount: Decimal
    material: str = ""
    reason: Reason | None = None
    overruled: Decimal | None = None
    overrule_reason: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Costing:
    """A price and all it is made of. Identities: materials + labour + overhead + contingency + extras = cost;
    cost + profit + fee = net; net + tax = gross; the deposit adds up to gross. `binding_rule`: margin,
    minimum-per-hour or price-step.
    """

    lines: tuple[CostLine, ...]
    materials: Decimal
    labour: Decimal
    overhead: Decimal
    contingency: Decimal
    extras: Decimal
    cost: Decimal
    profit: Decimal
    discount: Decimal
    rush: Decimal
    fee: Decimal
    net: Decimal
    tax: Decimal
    gross: Decimal
    deposit: tuple[Decimal, ...]
    per_hour: Decimal
    binding_rule: str
    findings: tuple[Finding, ...] = field(default_factory=tuple)
