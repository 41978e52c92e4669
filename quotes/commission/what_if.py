"""“What if the client pays 10 % less?”: which changes reach a lower price, alone or two together."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import combinations
from typing import Any

from inventory.ground.findings import Refused
from inventory.ground.wording import percent_text
from quotes.commission.commission import Commission, Option
from quotes.commission.quote import quote_commission
from quotes.construction.construction import BindingSource, FrontKind

__all__ = ["Way", "ways_to_less"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A change to an option: in words, the price that it gives, and whether that reaches the target."""

    option: str
    words: str
    price: Decimal
    saved: Decimal
    target: Decimal
    reaches: bool


def ways_to_less(commission: Commission, less_share: Decimal) -> list[Way]:
    """Return, per option, what may be left out and what the price then is; cheapest first.

    Every price is worked out anew by the same road, with quick cloth lengths on both sides. Two changes are tried
    together where none reaches the target alone, and those that do are named. The last resort, a lower margin, is named where it keeps the wage floor.
    """
    ways = []
    for option in commission.options:
        before = _price(commission, option)
        target = before * (1 - less_share)
        singles = []
        for words, changed in _changes(option):
            price = _price_or_none(commission, changed)
            if price is not None and price < before:
                singles.append((words, price))
        found = singles
        if not any(price <= target for _, price in singles):
            found = singles + [pair for pair in _pairs(commission, option) if pair[1] <= target]
        found += _lower_margin(commission, option, target)
        ways += [
            Way(
                option=option.name,
                words=words,
                price=price,
                saved=before - price,
                target=commission.currency.round(target),
                reaches=price <= target,
            )
            for words, price in sorted(found, key=lambda row: row[1])
        ]
    return ways


def _changes(option: Option) -> Iterator[tuple[str, Option]]:
    """Each change that is open to an option, in words."""
    choices = option.choices
    applied = option.applied

    def with_choices(**changed: Any) -> Option:
        return replace(option, choices=replace(choices, **changed))

    if choices.flossing:
        yield "no flossing", with_choices(flossing=False)
    if choices.modesty_panel:
        yield "no modesty panel", with_choices(modesty_panel=False)
    if applied.channels.bones_per_seam == 2:
        yield "one bone on each seam", with_choices(bones_per_seam=1)
    if applied.binding is BindingSource.CUT:
        yield "bought binding", with_choices(binding=BindingSource.BOUGHT)
    if applied.front is FrontKind.BUSK:
        yield "a zip instead of the busk", with_choices(front=FrontKind.ZIP)
    if choices.fittings > 0:
        yield "one fitting less", with_choices(fittings=choices.fittings - 1)
    if choices.toile:
        yield "no toile", with_choices(toile=False)


def _pairs(commission: Commission, option: Option) -> Iterator[tuple[str, Decimal]]:
    for (first, _), (second, _) in combinations(list(_changes(option)), 2):
        once = dict(_changes(option))[first]
        both = dict(_changes(once)).get(second)
        price = _price_or_none(commission, both) if both is not None else None
        if price is not None:
            yield f"{first} and {second}", price


def _lower_margin(commission: Commission, option: Option, target: Decimal) -> list[tuple[str, Decimal]]:
    """The margin that would be left at the target, where it is not negative and keeps the floor."""
    rates = commission.rates
    free = replace(commission, rates=replace(rates, margin_share=Decimal(0), price_step=None))
    least = _price(free, option)
    if least > target:
        return []
    # Price is (cost + fixed fee) ÷ (1 − margin − fee on net): two known prices give the margin at the target.
    fee = rates.fee_share * (1 + rates.tax_share)
    margin = 1 - fee - (1 - fee) * least / target
    return [
        (
            f"a margin of {percent_text(round(margin, 3))} instead of {percent_text(rates.margin_share)}",
            commission.currency.round(target),
        )
    ]


def _price(commission: Commission, option: Option) -> Decimal:
    return quote_commission(replace(commission, options=(option,))).options[0].costing.gross


def _price_or_none(commission: Commission, option: Option) -> Decimal | None:
    """A change may ask for something that the price list lacks; it is then no way."""
    try:
        return _price(commission, option)
    except Refused:
        return None
