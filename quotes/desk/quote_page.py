"""The pages of a quote: options side by side, and the sheet of one option with every reason."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from inventory.ground.units import LengthUnit, format_length
from inventory.ground.wording import day_text, money_text, percent_text, unit_cost_text
from quotes.commission.what_if import Way
from quotes.models import QuoteRevision

__all__ = ["CompareRow", "LessRow", "OptionSheet", "QuotePage", "SheetLine", "less_rows", "option_sheet", "quote_page"]

_RULES = {
    "margin": "the margin",
    "minimum-per-hour": "the least earned per hour",
    "price-step": "the price step",
}
_GROUPS = {
    "material": ("Materials", "materials"),
    "overhead": ("Overhead", "overhead"),
    "contingency": ("Contingency", "contingency"),
    "extra": ("Extras", "extras"),
}
"""Groups of cost lines: words, and the key of their sum."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareRow:
    """One figure across all options; `differs` where they are not all alike."""

    label: str
    values: list[str]
    is_total: bool = False
    is_money: bool = True

    @property
    def differs(self) -> bool:
        """Whether the options part here."""
        return len(set(self.values)) > 1


@dataclass(frozen=True, slots=True, kw_only=True)
class QuotePage:
    """A quote's revision with its options side by side."""

    number: int
    revision: int
    title: str
    client: str
    state: str
    state_words: str
    is_draft: bool
    due: str
    valid_until: str
    option_names: list[str]
    rows: list[CompareRow]
    findings: list[dict[str, str]]
    half_drawing: str
    has_all_lays: bool
    pattern_words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """A cost line with its reason: (what, text) pairs, empty parts left out."""

    code: str
    what: str
    quantity: str
    unit: str
    rate: str
    amount: str
    reason: list[tuple[str, str]]
    overruled: str
    overrule_reason: str
    can_overrule: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionSheet:
    """The workroom's sheet of one option."""

    name: str
    gross: str
    per_hour: str
    groups: list[tuple[str, str, list[SheetLine]]]
    operations: list[dict[str, str]]
    labour_words: str
    range_rule: str
    allowance: str
    cloths: list[dict[str, str]]
    lays: list[tuple[str, str]]
    bones: list[dict[str, str]]
    pieces: list[dict[str, str]]
    build_up: list[tuple[str, str]]
    cautions: list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class LessRow:
    """A way to a lower price, amounts as text."""

    option: str
    words: str
    price: str
    saved: str
    target: str
    reaches: bool


def less_rows(ways: Sequence[Way], currency: str) -> list[LessRow]:
    """Return the ways for the page."""
    return [
        LessRow(
            option=way.option,
            words=way.words,
            price=money_text(way.price, currency),
            saved=money_text(way.saved, currency),
            target=money_text(way.target, currency),
            reaches=way.reaches,
        )
        for way in ways
    ]


def quote_page(revision: QuoteRevision, *, on: date) -> QuotePage:
    """Return the page of a revision, from its figures alone."""
    figures = revision.figures
    head, quotation = figures["letterhead"], figures["quotation"]
    options = quotation["options"]
    state = revision.standing(on=on)
    pattern = options[0]["takeoff"]["pattern"]
    unit = LengthUnit(head["length_unit"])
    return QuotePage(
        number=revision.quote.number,
        revision=revision.number,
        title=revision.quote.title,
        client=revision.quote.client.name,
        state=state.value,
        state_words=str(state.label),
        is_draft=state is QuoteRevision.State.DRAFT,
        due=day_text(head["due"]),
        valid_until=day_text(revision.valid_until),
        option_names=[option["name"] for option in options],
        rows=_compare(options, quotation["currency"]),
        findings=_merged(quotation["findings"], [option["name"] for option in options]),
        half_drawing=figures["drawings"].get("half", ""),
        has_all_lays=all(
            f"lay {option['name']} {piece['cloth']}" in figures["drawings"]
            for option in options
            for piece in option["takeoff"]["pieces"]
        ),
        pattern_words=(
            f"{pattern['name']}: {pattern['panels_per_half']} panels a half, "
            f"closed waist {format_length(pattern['closed_waist_mm'], unit)}, "
            f"worn waist {format_length(pattern['worn_waist_mm'], unit)}"
        ),
    )


def option_sheet(figures: dict[str, Any], name: str, cautions: list[str]) -> OptionSheet:
    """Return the sheet of the option of that name. Raises KeyError where there is none."""
    quotation = figures["quotation"]
    option = next((option for option in quotation["options"] if option["name"] == name), None)
    if option is None:
        raise KeyError(name)
    currency = quotation["currency"]
    takeoff, labour = option["takeoff"], option["takeoff"]["labour"]
    reasons = {line["code"]: line for line in takeoff["lines"]}
    amounts = {line["code"]: line["amount"] for line in option["lines"] if line["group"] == "labour"}
    unit = LengthUnit(figures["letterhead"]["length_unit"])
    return OptionSheet(
        name=name,
        gross=money_text(option["gross"], currency),
        per_hour=money_text(option["per_hour"], currency),
        groups=[
            (
                words,
                money_text(option[total], currency),
                [_sheet_line(line, reasons, currency) for line in lines],
            )
            for group, (words, total) in _GROUPS.items()
            if (lines := [line for line in option["lines"] if line["group"] == group])
        ],
        operations=[
            {
                "name": operation["name"],
                "driver": operation["driver"],
                "quantity": f"{operation['driver_quantity']:g}",
                "minutes": f"{operation['minutes']:.0f}",
                "formula": operation["formula"],
                "amount": money_text(amounts.get(operation["code"], "0"), currency),
            }
            for operation in labour["operations"]
        ],
        labour_words=f"{_hours_words(labour)} h, {money_text(option['labour'], currency)}",
        range_rule=labour["range_rule"],
        allowance=percent_text(labour["allowance_share"]),
        cloths=[
            {
                "role": cloth["role"],
                "material": cloth["material"],
                "pieces": str(cloth["pieces"]),
                "lay": format_length(cloth["lay_mm"], LengthUnit.METRE),
                "buy": format_length(cloth["buy_mm"], LengthUnit.METRE),
                "width": format_length(cloth["usable_width_mm"], unit),
                "used": percent_text(cloth["utilisation_share"]),
            }
            for cloth in takeoff["cloths"]
        ],
        lays=_lays(figures["drawings"], name, [cloth["role"] for cloth in takeoff["cloths"]]),
        bones=[
            {
                "where": run["where"],
                "kind": run["kind"],
                "channel": format_length(run["channel_mm"], unit),
                "ideal": format_length(run["ideal_mm"], unit),
                "length": format_length(run["length_mm"], unit),
                "count": str(run["count"]),
            }
            for run in takeoff["bones"]
        ],
        pieces=[{key: str(value) for key, value in piece.items()} for piece in takeoff["pieces"]],
        build_up=[
            (label, money_text(option[key], currency))
            for label, key in (
                ("Cost", "cost"),
                ("Profit", "profit"),
                ("Payment fee", "fee"),
                ("Net price", "net"),
                ("Tax", "tax"),
                ("Price to the client", "gross"),
            )
        ],
        cautions=cautions,
    )


def _merged(findings: list[dict[str, str]], names: list[str]) -> list[dict[str, str]]:
    """Findings that options share said once, with the options' names where not all share them."""
    shared: dict[tuple[str, ...], list[str]] = {}
    for finding in findings:
        name = max((name for name in names if finding["where"].startswith(f"{name}: ")), key=len, default="")
        place = finding["where"].removeprefix(f"{name}: ")
        shared.setdefault((finding["severity"], place, finding["message"], finding["hint"]), []).append(name)
    return [
        {
            "severity": severity,
            "where": place if set(sharers) >= set(names) or sharers == [""] else f"{', '.join(sharers)}: {place}",
            "message": message,
            "hint": hint,
        }
        for (severity, place, message, hint), sharers in shared.items()
    ]


def _compare(options: list[dict[str, Any]], currency: str) -> list[CompareRow]:
    def money(label: str, key: str, *, is_total: bool = False) -> CompareRow:
        return CompareRow(
            label=label, values=[money_text(option[key], currency) for option in options], is_total=is_total
        )

    def words(label: str, values: list[str]) -> CompareRow:
        return CompareRow(label=label, values=values, is_money=False)

    rows = [
        money("Price to the client", "gross", is_total=True),
        money("Net price", "net"),
        money("Tax", "tax"),
        money("Materials", "materials"),
        money("Labour", "labour"),
        money("Overhead", "overhead"),
        money("Contingency", "contingency"),
        money("Extras", "extras"),
        money("Cost", "cost", is_total=True),
        money("Payment fee", "fee"),
        money("Discount", "discount"),
        money("Rush", "rush"),
        money("Profit", "profit", is_total=True),
        money("Earned per hour", "per_hour", is_total=True),
        words("Set by", [_RULES[option["binding_rule"]] for option in options]),
        words("Hours", [_hours_words(option["takeoff"]["labour"]) for option in options]),
        words("Layers", [str(option["takeoff"]["construction"]["cloth_layers"]) for option in options]),
        words("Pieces to cut", [str(option["takeoff"]["work"]["pieces"]) for option in options]),
        words("Seam passes", [str(option["takeoff"]["work"]["seam_passes"]) for option in options]),
        words("Bones", [str(sum(run["count"] for run in option["takeoff"]["bones"])) for option in options]),
        words("Front", [option["takeoff"]["front"]["kind"] for option in options]),
        words("Payments", [" + ".join(money_text(part, currency) for part in option["deposit"]) for option in options]),
    ]
    zero = money_text("0", currency)
    return [row for row in rows if row.is_total or not row.is_money or set(row.values) != {zero}]


def _sheet_line(line: dict[str, Any], reasons: dict[str, dict[str, Any]], currency: str) -> SheetLine:
    taken = reasons.get(line["code"], {}) if line["group"] == "material" else {}
    why = taken.get("reason", {})
    parts = [
        ("Counted", why.get("counted", "")),
        ("Formula", why.get("formula", "") or f"{line['quantity']} × {line['rate']}"),
        ("Waste", why.get("waste", "")),
        ("To buy", why.get("rounding", "")),
        ("Source", why.get("source", "")),
    ]
    is_share = line["unit"] == currency
    return SheetLine(
        code=line["code"],
        what=line["what"],
        quantity=money_text(line["quantity"], currency)
        if is_share
        else f"{round(Decimal(line['quantity']), 3).normalize():,f}",
        unit="" if is_share else line["unit"],
        rate=percent_text(line["rate"]) if is_share else unit_cost_text(line["rate"], currency),
        amount=money_text(line["amount"], currency),
        reason=[part for part in parts if part[1]],
        overruled=str(taken.get("overruled") or ""),
        overrule_reason=taken.get("overrule_reason", ""),
        can_overrule=bool(taken),
    )


def _lays(drawings: dict[str, str], name: str, roles: list[str]) -> list[tuple[str, str]]:
    """Each lay with the roles that lie in it; roles that share a cloth share a lay."""
    shared: dict[str, list[str]] = {}
    for role in roles:
        if drawing := drawings.get(f"lay {name} {role}"):
            shared.setdefault(drawing, []).append(role)
    return [(" and ".join(sharers), drawing) for drawing, sharers in shared.items()]


def _hours_words(labour: dict[str, Any]) -> str:
    low, likely, high = (labour[key] / 60 for key in ("low_min", "total_min", "high_min"))
    return f"{likely:.1f} ({low:.1f}–{high:.1f})"
