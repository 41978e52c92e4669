"""From a commission to priced options: shelf, lays, takeoff, labour, cost lines, price."""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import NamedTuple

from inventory.ground.findings import Finding, Refused
from inventory.ground.materials import Material
from inventory.ground.money import Currency
from quotes.commission.commission import Commission, Option, OptionFinding, PricedOption, Quotation
from quotes.construction.construction import Construction
from quotes.labour.estimate import estimate_labour
from quotes.lay.lay_plan import LayPlan, LayProblem
from quotes.pricing.costing import CostLine
from quotes.pricing.price import price
from quotes.takeoff.bone_candidates import forms_of
from quotes.takeoff.bone_work import BONE_DRIVERS, BoneWork
from quotes.takeoff.chosen_materials import Shelf, shelf_of
from quotes.takeoff.defaults import defaults
from quotes.takeoff.folds import folded_where_wanted
from quotes.takeoff.take_off import lay_problems, overruled, take_off
from quotes.takeoff.takeoff import MaterialLine, Takeoff

__all__ = ["LayKey", "Layer", "material_lines", "no_lays", "open_lays", "option_lays", "quote_commission"]


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
    """Return the lays of all options, of folded cloths as they lie folded; none is drawn, nothing is priced.

    Raises:
        Refused: an option that cannot be made.
    """
    lays = {}
    for key, problem in open_lays(commission).items():
        laid = folded_where_wanted({key.cloth: problem}, commission.options[key.option].folded)
        lays[key] = laid[key.cloth]
    return lays


def open_lays(commission: Commission) -> dict[LayKey, LayProblem]:
    """Return the lays of all options as though no cloth were folded. Raises Refused for an option that cannot be made."""
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
        rate = _unit_cost(by_code[line.material], line) if line.material else Decimal(0)
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


def _unit_cost(material: Material, line: MaterialLine) -> Decimal:
    """What a unit of a line costs: of a bone in a form that is named, what that form costs in its length."""
    if not line.form:
        return material.unit_cost
    return next(
        form.unit_cost
        for form in forms_of(material)
        if form.form == line.form and (form.length_mm or 0.0) == line.size_mm
    )


def _bone_work(commission: Commission, construction: Construction) -> BoneWork:
    """What bones take at this bench: minutes of the table with pace and allowance, at wage and overhead."""
    times, rates = commission.times, commission.rates
    table = {operation.code: operation for operation in times.operations}
    uses = [(table[use.code], use.minutes) for use in construction.operations if use.code in table]
    timed = [
        (driver, operation, own.get(driver.value, operation.unit_min[driver.value]))
        for operation, own in uses
        for driver in BONE_DRIVERS
        if driver.value in operation.unit_min
    ]
    allowance = 1 + times.allowance_share
    return BoneWork(
        minute_cost=(rates.labour_per_hour + rates.overhead_per_hour) / 60,
        unit_min={driver: minutes * operation.pace * allowance for driver, operation, minutes in timed},
        operation={driver: operation.code for driver, operation, _ in timed},
        setup_min={operation.code: operation.setup_min * operation.pace * allowance for _, operation, _ in timed},
    )


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
            folded=option.folded,
            losses=commission.losses,
            bench=_bone_work(commission, option.applied),
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
