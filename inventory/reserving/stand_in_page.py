"""Stand-ins in words: what would do, why, what it costs more or less, what is asked first."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.measures import quantity_text
from inventory.ground.money import currency_of
from inventory.ground.wording import minutes_text, money_text, signed_money_text
from inventory.reserving.stand_ins import OfferedStandIn

__all__ = ["StandInRow", "stand_in_rows"]

MOST_SHOWN = 3
"""How many of the best are shown under a lack."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StandInRow:
    """A stand-in; `cost` in all, `made_of` what that is made of, empty where it is the price of the material alone."""

    pk: int
    code: str
    what: str
    quantity: str
    why: str
    cost: str
    made_of: str
    asks: tuple[str, ...]
    tells: tuple[str, ...]


def stand_in_rows(offers: Sequence[OfferedStandIn], *, currency: str) -> list[StandInRow]:
    """Return the best stand-ins of one lack in words."""
    return [_row(offer, currency) for offer in offers[:MOST_SHOWN]]


def _row(offer: OfferedStandIn, currency: str) -> StandInRow:
    row = offer.stand_in
    return StandInRow(
        pk=offer.item.pk,
        code=row.code,
        what=str(offer.item),
        quantity=quantity_text(row.quantity, offer.item.unit),
        why=". ".join(row.why),
        cost=_cost(row.difference, currency),
        made_of=_made_of(offer, currency),
        asks=row.asks,
        tells=row.tells,
    )


def _cost(difference: Decimal | None, currency: str) -> str:
    if difference is None:
        return "what it costs more is not known"
    rounded = currency_of(currency).round(difference)
    if not rounded:
        return "costs as much"
    return f"{money_text(abs(rounded), currency)} {'more' if rounded > 0 else 'less'}"


def _made_of(offer: OfferedStandIn, currency: str) -> str:
    row, money = offer.stand_in, currency_of(currency)
    parts = []
    if row.materials is not None and (row.minutes or row.tips):
        parts.append(f"material {signed_money_text(money.round(row.materials), currency)}")
    if row.minutes:
        parts.append(f"{minutes_text(row.minutes)} {signed_money_text(money.round(row.labour), currency)}")
    if row.tips:
        cost = "" if row.tip_cost is None else f" {signed_money_text(money.round(row.tip_cost), currency)}"
        parts.append(f"{row.tips} tips{cost}")
    return ", ".join(parts)
