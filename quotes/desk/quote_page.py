"""The pages of a quote: options side by side, and the sheet of one option with every reason."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal

from inventory.ground.units import LengthUnit, format_length
from inventory.ground.wording import day_text, money_text, percent_text, unit_cost_text
from quotes.commission.commission import OptionFinding
from quotes.commission.what_if import Way
from quotes.desk.from_memory import remembered
from quotes.desk.kept_lays import PROVEN_SHARE
from quotes.desk.quoting import newer_pattern
from quotes.documents.bones import bone_words
from quotes.labour.operations import LabourEstimate
from quotes.lay.lay_plan import Effort
from quotes.models import QuoteRevision
from quotes.pricing.costing import CostLine
from quotes.seal.sealed import SealedCloth, SealedOption
from quotes.seal.snapshot import Drawings, Snapshot
from quotes.takeoff.takeoff import Reason

__all__ = [
    "CompareRow",
    "LessRow",
    "OptionSheet",
    "QuotePage",
    "SheetLine",
    "less_rows",
    "option_sheet",
    "quote_page",
]

_RULES = {
    "margin": "the margin",
    "minimum-per-hour": "the least earned per hour",
    "price-step": "the price step",
}
_GROUPS = {
    "material": "Materials",
    "overhead": "Overhead",
    "contingency": "Contingency",
    "extra": "Extras",
}
"""Groups of cost lines in words. Labour has a table of its own, operation by operation."""


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
    """A quote's revision with its options side by side; what is from memory is empty where nothing is."""

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
    lays_above: str
    pattern_words: str
    newer_pattern: int | None
    prices_from_memory: str
    minutes_from_memory: str


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
    lays: list[tuple[str, str, str]]
    folded: frozenset[str]
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
    """Return the page of a revision, from its figures alone but for what is still memory today."""
    snapshot = revision.snapshot
    head, quotation = snapshot.letterhead, snapshot.quotation
    options = quotation.options
    state = revision.standing(on=on)
    drawn = {(lay.option, lay.role) for lay in snapshot.drawings.lays}
    pattern = options[0].takeoff.pattern
    unit = LengthUnit(head.length_unit)
    memory = remembered(quotation)
    above = _most_above(options)
    return QuotePage(
        number=revision.quote.number,
        revision=revision.number,
        title=revision.quote.title,
        client=revision.quote.client.name,
        state=state.value,
        state_words=str(state.label),
        is_draft=state is QuoteRevision.State.DRAFT,
        due=day_text(head.due),
        valid_until=day_text(revision.valid_until),
        option_names=[option.name for option in options],
        rows=_compare(options, quotation.currency),
        findings=_merged(quotation.findings, [option.name for option in options]),
        half_drawing=snapshot.drawings.half,
        lays_above=percent_text(above) if above > PROVEN_SHARE else "",
        has_all_lays=all((option.name, piece.cloth) in drawn for option in options for piece in option.takeoff.pieces),
        prices_from_memory=f"{memory.prices} of {memory.all_prices} prices" if memory.prices else "",
        minutes_from_memory=f"{memory.minutes} of {memory.all_minutes} minutes" if memory.minutes else "",
        newer_pattern=newest.number if (newest := newer_pattern(revision)) else None,
        pattern_words=(
            f"{pattern.name}: {pattern.panels_per_half} panels a half, "
            f"closed waist {format_length(pattern.closed_waist_mm, unit)}, "
            f"worn waist {format_length(pattern.worn_waist_mm, unit)}"
        ),
    )


def _above_text(cloth: SealedCloth) -> str:
    """How a lay stands to what no lay can beat; empty where none is drawn."""
    if cloth.lay_above_share is None:
        return ""
    if cloth.lay_above_share <= PROVEN_SHARE:
        return "none can be shorter"
    return f"none can be under {format_length(cloth.lay_mm / (1 + cloth.lay_above_share), LengthUnit.METRE)}"


def _most_above(options: Sequence[SealedOption]) -> float:
    """How far the longest lay that may still be searched longer is above what is possible, as a share; 0 for none."""
    return max(
        (
            cloth.lay_above_share or 0.0
            for option in options
            for cloth in option.takeoff.cloths
            if cloth.lay_effort != Effort.THOROUGH
        ),
        default=0.0,
    )


def option_sheet(snapshot: Snapshot, name: str, cautions: list[str]) -> OptionSheet:
    """Return the sheet of the option of that name. Raises KeyError where there is none."""
    option, currency = snapshot.quotation.option(name), snapshot.quotation.currency
    takeoff, labour = option.takeoff, option.takeoff.labour
    amounts = {line.code: line.amount for line in option.lines_of("labour")}
    unit = LengthUnit(snapshot.letterhead.length_unit)
    return OptionSheet(
        name=name,
        gross=money_text(option.gross, currency),
        per_hour=money_text(option.per_hour, currency),
        groups=[
            (
                words,
                money_text(sum((line.amount for line in lines), Decimal(0)), currency),
                [_sheet_line(line, currency) for line in lines],
            )
            for group, words in _group_titles(option).items()
            if (lines := option.lines_of(group))
        ],
        operations=[
            {
                "name": operation.name,
                "driver": operation.driver,
                "quantity": f"{operation.driver_quantity:g}",
                "minutes": f"{operation.minutes:.0f}",
                "formula": operation.formula,
                "amount": money_text(amounts.get(operation.code, "0"), currency),
            }
            for operation in labour.operations
        ],
        labour_words=f"{_hours_words(labour)} h, {money_text(option.labour, currency)}",
        range_rule=labour.range_rule,
        allowance=percent_text(labour.allowance_share),
        cloths=[
            {
                "role": cloth.role,
                "material": cloth.material,
                "pieces": str(cloth.pieces),
                "lay": format_length(cloth.lay_mm, LengthUnit.METRE),
                "buy": format_length(cloth.buy_mm, LengthUnit.METRE),
                "width": format_length(cloth.usable_width_mm, unit),
                "used": percent_text(cloth.utilisation_share),
                "above": ", ".join(filter(None, ("folded" if cloth.is_folded else "", _above_text(cloth)))),
            }
            for cloth in takeoff.cloths
        ],
        folded=frozenset(cloth.material for cloth in takeoff.cloths if cloth.is_folded),
        lays=_lays(snapshot.drawings, name, {cloth.role: cloth.material for cloth in takeoff.cloths}),
        bones=[
            {
                "where": run.where,
                "bone": bone_words(run, unit),
                "why": run.why,
                "channel": format_length(run.channel_mm, unit),
                "ideal": format_length(run.ideal_mm, unit),
                "length": format_length(run.length_mm, unit),
                "count": str(run.count),
            }
            for run in takeoff.bones
        ],
        pieces=[{key: str(value) for key, value in asdict(piece).items()} for piece in takeoff.pieces],
        build_up=[
            (label, money_text(getattr(option, key), currency))
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


def _group_titles(option: SealedOption) -> dict[str, str]:
    """The groups of cost lines with their titles, labour apart; one that has none here goes by its own name, last."""
    others = {line.group: line.group.capitalize() for line in option.lines if line.group not in (*_GROUPS, "labour")}
    return {**_GROUPS, **others}


def _merged(findings: Sequence[OptionFinding], names: list[str]) -> list[dict[str, str]]:
    """Findings that options share said once, with the options' names where not all share them."""
    shared: dict[tuple[str, ...], list[str]] = {}
    for finding in findings:
        told = (finding.severity.value, finding.place, finding.message, finding.hint)
        shared.setdefault(told, []).append(finding.option)
    return [
        {
            "severity": severity,
            "where": place if set(sharers) >= set(names) or sharers == [""] else f"{', '.join(sharers)}: {place}",
            "message": message,
            "hint": hint,
        }
        for (severity, place, message, hint), sharers in shared.items()
    ]


def _compare(options: Sequence[SealedOption], currency: str) -> list[CompareRow]:
    def money(label: str, key: str, *, is_total: bool = False) -> CompareRow:
        return CompareRow(
            label=label, values=[money_text(getattr(option, key), currency) for option in options], is_total=is_total
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
        words("Set by", [_RULES[option.binding_rule] for option in options]),
        words("Hours", [_hours_words(option.takeoff.labour) for option in options]),
        words("Layers", [str(option.takeoff.construction.cloth_layers) for option in options]),
        words("Pieces to cut", [str(option.takeoff.work.pieces) for option in options]),
        words("Seam passes", [str(option.takeoff.work.seam_passes) for option in options]),
        words("Bones", [str(sum(run.count for run in option.takeoff.bones)) for option in options]),
        words("Front", [option.takeoff.front.kind.value for option in options]),
        words("Payments", [" + ".join(money_text(part, currency) for part in option.deposit) for option in options]),
    ]
    zero = money_text("0", currency)
    return [row for row in rows if row.is_total or not row.is_money or set(row.values) != {zero}]


def _sheet_line(line: CostLine, currency: str) -> SheetLine:
    why = line.reason or Reason(counted="", source="")
    parts = [
        ("Counted", why.counted),
        ("Formula", why.formula or f"{line.quantity:f} × {line.rate:f}"),
        ("Waste", why.waste),
        ("To buy", why.rounding),
        ("Source", why.source),
    ]
    is_share = line.unit == currency
    return SheetLine(
        code=line.code,
        what=line.what,
        quantity=money_text(line.quantity, currency) if is_share else f"{round(line.quantity, 3).normalize():,f}",
        unit="" if is_share else line.unit,
        rate=percent_text(line.rate) if is_share else unit_cost_text(line.rate, currency),
        amount=money_text(line.amount, currency),
        reason=[part for part in parts if part[1]],
        overruled="" if line.overruled is None else f"{line.overruled:f}",
        overrule_reason=line.overrule_reason,
        can_overrule=line.reason is not None,
    )


def _lays(drawings: Drawings, name: str, materials: Mapping[str, str]) -> list[tuple[str, str, str]]:
    """Each lay with the roles that lie in it and their cloth; roles that share a cloth share a lay."""
    own = {lay.role: lay.svg for lay in drawings.lays if lay.option == name}
    shared: dict[str, list[str]] = {}
    for role in materials:
        if drawing := own.get(role):
            shared.setdefault(drawing, []).append(role)
    return [(" and ".join(sharers), drawing, materials[sharers[0]]) for drawing, sharers in shared.items()]


def _hours_words(labour: LabourEstimate) -> str:
    low, likely, high = (minutes / 60 for minutes in (labour.low_min, labour.total_min, labour.high_min))
    return f"{likely:.1f} ({low:.1f}–{high:.1f})"
