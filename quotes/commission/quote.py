"""From a commission to priced options: shelf, lays, takeoff, labour, cost lines, price."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import NamedTuple

from inventory.ground.findings import Finding, Refused
from inventory.ground.materials import Material
from inventory.ground.money import Currency
from quotes.commission.commission import Commission, Option, OptionFinding, PricedOption, Quotation
from quotes.labour.estimate import estimate_labour
from quotes.lay.lay_plan import LayPlan, LayProblem
from quotes.pricing.costing import CostLine
from quotes.pricing.price import price
from quotes.takeoff.chosen_materials import Shelf, shelf_of
from quotes.takeoff.defaults import defaults
from quotes.takeoff.take_off import lay_problems, overruled, take_off
from quotes.takeoff.takeoff import Takeoff

__all__ = ["LayKey", "Layer", "material_lines", "no_lays", "option_lays", "quote_commission"]


class LayKey(NamedTuple):
    """Which lay of a commission: its option by its place, its cloth by the key that the takeoff looks plans up with."""

    option: int
    cloth: str


Layer = Callable[[Mapping[LayKey, LayProblem]], Mapping[LayKey, LayPlan]]
"""Lays several cloths at once; a key left out takes the quick length."""


def no_lays(problems: Mapping[LayKey, LayProblem]) -> Mapping[LayKey, LayPlan]:
    """Draw no lay: every cloth takes the quick length."""
    return {}


def option_lays(commission: Commission) -> dict[LayKey, LayProblem]:
    """Return the lays of all options; none is drawn, nothing is priced.

    Raises:
        Refused: an option that cannot be made.
    """
    return {
        LayKey(index, cloth): problem
        for index, (option, (shelf, _)) in enumerate(zip(commission.options, _shelves(commission), strict=True))
        for cloth, problem in lay_problems(commission.pattern, option.construction, option.choices, shelf).items()
    }


def quote_commission(commission: Commission, *, lay: Layer = no_lays, effort: str = "none") -> Quotation:
    """Return every option of a commission, priced.

    Raises:
        Refused: an option that cannot be made or priced; findings name the option.
    """
    shelves = _shelves(commission)
    findings = [_told(found) for found in commission.pattern_findings]
    findings += [_told(found) for _, faults in shelves for found in faults]
    plans = {} if lay is no_lays else lay(option_lays(commission))
    priced = []
    for index, (option, (shelf, _)) in enumerate(zip(commission.options, shelves, strict=True)):
        own_plans = {key.cloth: plan for key, plan in plans.items() if key.option == index}
        result, option_findings = _priced(commission, option, shelf, own_plans, effort)
        priced.append(result)
        findings += [_told(found, option.name) for found in option_findings]
    return Quotation(currency=commission.currency, options=tuple(priced), findings=tuple(dict.fromkeys(findings)))


def _shelves(commission: Commission) -> list[tuple[Shelf, tuple[Finding, ...]]]:
    """The materials of each option, and what is doubtful about them. Raises Refused where one lacks a kind."""
    shelves = []
    for index, option in enumerate(commission.options):
        shelf, findings = shelf_of(
            option.applied, option.choices, option.cloths, commission.price_list, where=f"options[{index}]"
        )
        if shelf is None:
            raise Refused(findings)
        shelves.append((shelf, tuple(findings)))
    return shelves


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
                material=line.material or line.kind.value,
                reason=line.reason,
                overruled=line.overruled,
                overrule_reason=line.overrule_reason,
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
        raise Refused(_told(found, option.name) for found in refusal.findings) from None
    costing = price(
        material_lines(takeoff, commission.price_list, commission.currency),
        labour,
        commission.extras,
        commission.rates,
        commission.currency,
    )
    result = PricedOption(name=option.name, takeoff=takeoff, labour=labour, costing=costing)
    return result, (*takeoff.findings, *costing.findings)


def _told(found: Finding, option: str = "") -> OptionFinding:
    """A finding with its option's name, empty for what is about all of them."""
    return OptionFinding(
        code=found.code,
        severity=found.severity,
        where=f"{option}: {found.where}" if option else found.where,
        message=found.message,
        hint=found.hint,
        option=option,
        place=found.where,
    )
