"""What of the shelf may stand in for what is lacking, ranked, with its price and what must be asked before.

The question: the bone that the plan names is not there; what lies there that would do, and at what cost? What speaks for
it is decided in `stand_in_cases`; here it is held against what lies free, priced and ranked.

Words: a *column* is all the grommets of a piece. Quantities are in base units (mm, pieces), costs of a stock unit as
Decimal. A stand-in serves all that is short: what does so in part is not offered.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import BONES, CLOTHS, MaterialKind
from inventory.ground.measures import BASES_PER_UNIT
from inventory.ground.stock_units import StockUnit
from inventory.reckoning.stand_in_cases import Case, Lacking, Thing, cut, judged, must_be_cut, of_one_width
from inventory.reckoning.stand_in_rules import stand_in_rules

__all__ = ["Allowed", "LyingThing", "StandIn", "may_stand_in", "stand_ins"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LyingThing:
    """What lies on the shelf: how much nobody has asked for, and what each usable lot holds, in base units."""

    code: str
    thing: Thing
    free: int
    lots: tuple[int, ...]
    unit_cost: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowed:
    """That the maker allows a stand-in; `asks_client` where the client is asked first."""

    asks_client: bool = False
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StandIn:
    """One that would do.

    Attributes:
        rules: codes of the rules that allow it; `why` their words.
        replaces: so much of what is lacking is not needed any more, in its base units; `quantity` is taken instead.
        asks: what the maker must be sure of; `tells` what the client is told.
        materials: what it costs more than what is lacking, less below zero; None where one has no price.
        minutes, labour: more work, and what it costs at the rate.
        tips, tip, tip_cost: more tips, the code of those, empty where so many do not lie free; None where they have no
            price.
    """

    code: str
    rank: int
    rules: tuple[str, ...]
    why: tuple[str, ...]
    replaces: int
    quantity: int
    asks: tuple[str, ...]
    tells: tuple[str, ...]
    materials: Decimal | None
    minutes: int
    labour: Decimal
    tips: int
    tip: str
    tip_cost: Decimal | None

    @property
    def difference(self) -> Decimal | None:
        """What it costs more in all, less below zero; None where a price is not known."""
        if self.materials is None or self.tip_cost is None:
            return None
        return self.materials + self.labour + self.tip_cost


def stand_ins(
    lacking: Lacking,
    lying: Sequence[LyingThing],
    *,
    allowed: Mapping[str, Allowed],
    hourly: Decimal,
) -> tuple[StandIn, ...]:
    """Return what of the shelf would do for what is lacking, best first: by rank, fewer questions, lower cost.

    Args:
        lying: what lies on the shelf, tips too, of whatever kind.
        allowed: what the maker allows in place of what is lacking, by its code.
        hourly: what an hour of more work costs.
    """
    found = []
    for thing in lying:
        if thing.code == lacking.code:
            continue
        case = _case(lacking, thing, allowed.get(thing.code))
        amount = _amount(lacking, thing, case) if case else None
        if case and amount:
            found.append(_priced(lacking, thing, case, *amount, lying_all=lying, hourly=hourly))
    return tuple(sorted(found, key=_order))


def may_stand_in(kind: MaterialKind) -> frozenset[MaterialKind]:
    """Return the kinds that rules let stand in for one: its own where any rule is of it, and what a rule names."""
    named = {rule.by.kind for rule in stand_in_rules().rules if rule.of and rule.by and rule.of.kind is kind}
    return frozenset(named | {kind} if kind in BONES else named)


def _order(row: StandIn) -> tuple[int, int, Decimal, str]:
    cost = row.difference
    return row.rank, len(row.asks) + len(row.tells), Decimal("Infinity") if cost is None else cost, row.code


def _case(lacking: Lacking, lying: LyingThing, own: Allowed | None) -> Case | None:
    """What speaks for it; None where nothing does. What the maker allowed needs no question, but its work stays."""
    by_rule = judged(lacking, lying.thing)
    if own is None:
        return by_rule
    case = Case()
    case.add("own")
    if own.why:
        case.why[0] += f": {own.why}"
    if own.asks_client:
        case.tells.append(case.rules[0].tells)
    if by_rule is None and must_be_cut(lacking.thing, lying.thing):
        by_rule = Case()
        cut(by_rule, lacking.thing, lying.thing)
    if by_rule:
        case.rules += by_rule.rules
        case.why += by_rule.why
        case.extra, case.minutes, case.tips = by_rule.extra, by_rule.minutes, by_rule.tips
    return case


def _amount(lacking: Lacking, lying: LyingThing, case: Case) -> tuple[int, int] | None:
    """What is replaced and what is taken for it; None where not so much lies free.

    Bones are replaced one by one, all else as a whole, so that a column, a cord or what is seen stays alike.
    """
    of, by = lacking.thing, lying.thing
    is_bone = of.kind in BONES and of.form is not BoneForm.COIL
    replaces = lacking.short if is_bone and lacking.short else lacking.whole
    if is_bone and by.unit is StockUnit.METRE:
        length = math.ceil(of.length_mm)
        pieces = sum(lot // length for lot in lying.lots) if length else 0
        return (replaces, replaces * length) if pieces >= replaces and lying.free >= replaces * length else None
    if of.unit is not by.unit:
        return None
    wanted = replaces + case.extra
    is_of_one_piece = of.kind in CLOTHS or of.kind in (MaterialKind.CORD, MaterialKind.WAIST_TAPE) or lacking.is_seen
    there = max(lying.lots, default=0) if is_of_one_piece else sum(lying.lots)
    return (replaces, wanted) if min(there, lying.free) >= wanted else None


def _priced(
    lacking: Lacking,
    lying: LyingThing,
    case: Case,
    replaces: int,
    quantity: int,
    *,
    lying_all: Sequence[LyingThing],
    hourly: Decimal,
) -> StandIn:
    pieces = replaces if lacking.thing.unit is not StockUnit.METRE else 1
    minutes, tips = case.minutes * pieces, case.tips * pieces
    own, other = _cost(lacking.unit_cost, replaces, lacking.thing), _cost(lying.unit_cost, quantity, lying.thing)
    tip = _tip(lying.thing, tips, lying_all) if tips else None
    if tips and tip is None:
        case.asks.append(stand_in_rules().tips_lacking.format(tips=tips))
    return StandIn(
        code=lying.code,
        rank=0 if case.rules[0].code == "own" else max(rule.rank for rule in case.rules),
        rules=tuple(rule.code for rule in case.rules),
        why=tuple(case.why),
        replaces=replaces,
        quantity=quantity,
        asks=tuple(case.asks),
        tells=tuple(case.tells),
        materials=None if own is None or other is None else other - own,
        minutes=minutes,
        labour=hourly * minutes / 60,
        tips=tips,
        tip=tip.code if tip else "",
        tip_cost=_cost(tip.unit_cost, tips, tip.thing) if tip else None if tips else Decimal(0),
    )


def _cost(unit_cost: Decimal | None, quantity: int, thing: Thing) -> Decimal | None:
    return None if unit_cost is None else unit_cost * quantity / BASES_PER_UNIT[thing.unit]


def _tip(bone: Thing, tips: int, lying: Sequence[LyingThing]) -> LyingThing | None:
    """The cheapest tips of a bone's width of which so many lie free; None where none do."""
    fitting = [
        tip
        for tip in lying
        if tip.thing.kind is MaterialKind.TIP and tip.free >= tips and of_one_width(bone, tip.thing)
    ]
    dear = Decimal("Infinity")
    return min(fitting, key=lambda tip: (dear if tip.unit_cost is None else tip.unit_cost, tip.code), default=None)
