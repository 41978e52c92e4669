"""From a commission to priced options: shelf, lays, takeoff, labour, cost lines, price."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal

from inventory.ground.findings import Finding, Refused
from inventory.ground.materials import Material
from inventory.ground.money import Currency
from quotes.commission.commission import Commission, Option, PricedOption, Quotation
from quotes.labour.estimate import estimate_labour
from quotes.lay.lay_plan import LayPlan, LayProblem
from quotes.pricing.costing import CostLine
from quotes.pricing.price import price
from quotes.takeoff.chosen_materials import Shelf, shelf_of
from quotes.takeoff.defaults import defaults
from quotes.takeoff.take_off import lay_problems, overruled, take_off
from quotes.takeoff.takeoff import Takeoff

__all__ = ["Layer", "material_lines", "no_lays", "quote_commission"]

Layer = Callable[[Mapping[str, LayProblem]], Mapping[str, LayPlan]]
"""Lays several cloths at once: from problems by key to plans by key; a key left out takes the quick length."""


def no_lays(problems: Mapping[str, LayProblem]) -> Mapping[str, LayPlan]:
    """Draw no lay: every cloth takes the quick length."""
    return {}


def quote_commission(commission: Commission, *, lay: Layer = no_lays, effort: str = "none") -> Quotation:
    """Return every option of a commission, priced.

    Raises:
        Refused: an option that cannot be made or priced; findings name the option.
    """
    shelves = []
    problems: dict[str, LayProblem] = {}
    findings: list[Finding] = list(commission.pattern_findings)
    for index, option in enumerate(commission.options):
        where = f"options[{index}]"
        shelf, shelf_findings = shelf_of(
            option.applied, option.choices, option.cloths, commission.price_list, where=where
        )
        if shelf is None:
            raise Refused(shelf_findings)
        findings += shelf_findings
        shelves.append(shelf)
        if lay is not no_lays:
            for key, problem in lay_problems(commission.pattern, option.construction, option.choices, shelf).items():
                problems[f"{index}/{key}"] = problem
    plans = lay(problems)
    priced = []
    for index, (option, shelf) in enumerate(zip(commission.options, shelves, strict=True)):
        own_plans = {key.partition("/")[2]: plan for key, plan in plans.items() if key.partition("/")[0] == str(index)}
        result, option_findings = _priced(commission, option, shelf, own_plans, effort)
        priced.append(result)
        findings += [replace(found, where=f"{option.name}: {found.where}") for found in option_findings]
    return Quotation(currency=commission.currency, options=tuple(priced), findings=tuple(dict.fromkeys(findings)))


def material_lines(takeoff: Takeoff, price_list: tuple[Material, ...], currency: Currency) -> tuple[CostLine, ...]:
    """Return what the *use* of each material costs, and the sundries as a share of it."""
    by_code = {material.code: material for material in price_list}
    lines = []
    for line in takeoff.lines:
        rate = by_code[line.material].unit_cost if line.material else Decimal(0)
        lines.append(
            CostLine(
                group="material",
                code=line.code,
                what=line.what,
                quantity=line.quantity,
                unit=line.unit.value,
                rate=rate,
                amount=currency.round(line.quantity * rate),
            )
        )
    others = sum((line.amount for line in lines), Decimal(0))
    share = Decimal(repr(defaults().sundries_share))
    sundries = CostLine(
        group="material",
        code="sundries",
        what="Sundries: chalk, basting thread, sealant",
        quantity=others,
        unit=currency.code,
        rate=share,
        amount=currency.round(others * share),
    )
    return (*lines, sundries)


def _priced(
    commission: Commission, option: Option, shelf: Shelf, plans: Mapping[str, LayPlan], effort: str
) -> tuple[PricedOption, tuple[Finding, ...]]:
    try:
        takeoff = take_off(
            commission.pattern,
            option.construction,
            option.choices,
            shelf,
            plans=plans,
            effort=effort if plans else "none",
            losses=commission.losses,
        )
        for overrule in option.overrules:
            takeoff = overruled(takeoff, overrule.line, overrule.quantity, overrule.reason)
        handling = [material.handling for material in shelf.cloths.values()]
        labour = estimate_labour(takeoff.work, takeoff.construction, commission.times, handling=handling)
    except Refused as refusal:
        raise Refused(replace(found, where=f"{option.name}: {found.where}") for found in refusal.findings) from None
    costing = price(
        material_lines(takeoff, commission.price_list, commission.currency),
        labour,
        commission.extras,
        commission.rates,
        commission.currency,
    )
    result = PricedOption(name=option.name, takeoff=takeoff, labour=labour, costing=costing)
    return result, (*takeoff.findings, *costing.findings)
