"""The price: cost build-up, the net that keeps margin and wage, tax, fee and payments, to the minor unit.

The target net T is found before discount and rush, both shares of T: T is the higher of
- margin: profit = margin × T, so T = (cost + fixed fee) ÷ (1 − margin − fee × (1 + tax));
- wage: (T − fee − materials − extras − overhead) ÷ hours ≥ the minimum, so
  T = (minimum × hours + materials + extras + overhead + fixed fee) ÷ (1 − fee × (1 + tax)).
The fee is taken on the total with tax. Source: common practice, algebra.
"""

import decimal
from collections.abc import Sequence
from decimal import ROUND_CEILING, Decimal

from inventory.ground.findings import Finding, warn
from inventory.ground.money import Currency, split
from quotes.labour.operations import LabourEstimate
from quotes.pricing.costing import Costing, CostLine, Extra, Rates
from quotes.pricing.tax import taxed

__all__ = ["price"]

_ZERO = Decimal(0)
_SIXTY = Decimal(60)


def price(
    materials: Sequence[CostLine],
    labour: LabourEstimate,
    extras: Sequence[Extra],
    rates: Rates,
    currency: Currency,
) -> Costing:
    """Return the costing of one option.

    Args:
        materials: their amounts are rounded to the minor unit already.

    The anchor of the price is rounded by the studio's rule, or up to the next `price_step`; see `Costing` for the
    identities that hold. A price that earns less than the wage floor, after a discount, is warned of.
    """
    with decimal.localcontext(prec=50):
        hours = labour.hours
        labour_total = currency.round(hours * rates.labour_per_hour)
        overhead_total = currency.round(hours * rates.overhead_per_hour)
        material_total = sum((line.amount for line in materials), _ZERO)
        direct = _direct_lines(extras)
        extra_total = sum((line.amount for line in direct), _ZERO)
        contingency = currency.round(
            rates.contingency_share * (material_total + labour_total + overhead_total + extra_total)
        )
        cost = material_total + labour_total + overhead_total + contingency + extra_total
        passed_on = material_total + extra_total + overhead_total

        target, rule = _target(cost, passed_on, hours, rates)
        discount = currency.round(target * rates.discount_share)
        rush = currency.round(target * rates.rush_share)
        wanted = target - target * rates.discount_share + target * rates.rush_share
        net, tax, gross, stepped = _anchored(wanted, rates, currency)
        fee = currency.round(rates.fee_share * gross + rates.fee_fixed)
        per_hour = currency.round((net - fee - passed_on) / hours) if hours else _ZERO
        profit = net - cost - fee
        deposit = split(gross, rates.deposit_shares, currency)
    return Costing(
        lines=(
            *materials,
            *_labour_lines(labour, labour_total, rates, currency),
            *_single("overhead", "overhead", "Overhead", hours, "h", rates.overhead_per_hour, overhead_total),
            *_single(
                "contingency",
                "contingency",
                "Contingency",
                material_total + labour_total + overhead_total + extra_total,
                currency.code,
                rates.contingency_share,
                contingency,
            ),
            *direct,
        ),
        materials=material_total,
        labour=labour_total,
        overhead=overhead_total,
        contingency=contingency,
        extras=extra_total,
        cost=cost,
        profit=profit,
        discount=discount,
        rush=rush,
        fee=fee,
        net=net,
        tax=tax,
        gross=gross,
        deposit=deposit,
        per_hour=per_hour,
        binding_rule="price-step" if stepped else rule,
        findings=(
            *_floor_findings(per_hour, net, fee, passed_on, hours, rates, currency),
            *_deposit_findings(deposit, material_total, currency),
        ),
    )


def _target(cost: Decimal, passed_on: Decimal, hours: Decimal, rates: Rates) -> tuple[Decimal, str]:
    """The net before discount and rush, unrounded, and the rule that sets it."""
    fee_on_net = rates.fee_share * (1 + rates.tax_share)
    by_margin = (cost + rates.fee_fixed) / (1 - rates.margin_share - fee_on_net)
    if rates.minimum_per_hour is None:
        return by_margin, "margin"
    by_wage = (rates.minimum_per_hour * hours + passed_on + rates.fee_fixed) / (1 - fee_on_net)
    return (by_wage, "minimum-per-hour") if by_wage > by_margin else (by_margin, "margin")


def _anchored(wanted: Decimal, rates: Rates, currency: Currency) -> tuple[Decimal, Decimal, Decimal, bool]:
    """Net, tax and gross from the wanted net, and whether the price step moved them.

    The anchor is rounded first; tax follows from it (quotes.pricing.tax).
    """
    anchor = wanted * (1 + rates.tax_share) if rates.tax_included else wanted
    exact = currency.round(anchor, rates.rounding)
    if rates.price_step:
        stepped = (exact / rates.price_step).to_integral_value(ROUND_CEILING) * rates.price_step
        moved = stepped != exact
        exact = currency.round(stepped)
    else:
        moved = False
    parts = taxed(exact, rates, currency)
    return parts.net, parts.tax, parts.gross, moved


def _labour_lines(labour: LabourEstimate, total: Decimal, rates: Rates, currency: Currency) -> tuple[CostLine, ...]:
    """One line per operation, with its share of the allowance; their amounts add up to the rounded total."""
    minutes = [Decimal(repr(round(row.minutes, 9))) for row in labour.operations]
    if not total or not sum(minutes):
        return ()
    factor = 1 + Decimal(repr(labour.allowance_share))
    return tuple(
        CostLine(
            group="labour",
            code=row.code,
            what=row.name,
            quantity=(spent * factor / _SIXTY).quantize(Decimal("0.0001")),
            unit="h",
            rate=rates.labour_per_hour,
            amount=amount,
        )
        for row, spent, amount in zip(labour.operations, minutes, split(total, minutes, currency), strict=True)
    )


def _direct_lines(extras: Sequence[Extra]) -> tuple[CostLine, ...]:
    """Direct costs outside the takeoff, in whatever groups: `Costing.extras` is what they come to."""
    return tuple(
        CostLine(
            group="extra",
            code=f"extra.{index}",
            what=extra.what,
            quantity=Decimal(1),
            unit="each",
            rate=extra.amount,
            amount=extra.amount,
        )
        for index, extra in enumerate(extras, start=1)
    )


def _single(
    group: str, code: str, what: str, quantity: Decimal, unit: str, rate: Decimal, amount: Decimal
) -> tuple[CostLine, ...]:
    line = CostLine(group=group, code=code, what=what, quantity=quantity, unit=unit, rate=rate, amount=amount)
    return (line,) if amount else ()


def _floor_findings(
    per_hour: Decimal,
    net: Decimal,
    fee: Decimal,
    passed_on: Decimal,
    hours: Decimal,
    rates: Rates,
    currency: Currency,
) -> list[Finding]:
    if rates.minimum_per_hour is None or per_hour >= rates.minimum_per_hour:
        return []
    missing = currency.round(rates.minimum_per_hour * hours - (net - fee - passed_on))
    return [
        warn(
            "price.below-floor",
            "per_hour",
            f"The price earns {per_hour} an hour, less than the minimum of {rates.minimum_per_hour}; "
            f"{missing} {currency.code} are missing.",
            "Give less discount, or take work out.",
        )
    ]


def _deposit_findings(deposit: Sequence[Decimal], materials: Decimal, currency: Currency) -> list[Finding]:
    if deposit[0] >= materials:
        return []
    return [
        warn(
            "price.deposit-below-materials",
            "deposit",
            f"The first payment, {deposit[0]} {currency.code}, does not cover the materials, {materials} {currency.code}.",
            "Ask for a larger first part.",
        )
    ]
