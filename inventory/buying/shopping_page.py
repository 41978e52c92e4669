"""A shopping list in words, on the page and on paper."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from inventory.buying.shopping import ToBuy
from inventory.ground.measures import amount_of, pack_text, quantity_text
from inventory.ground.money import currency_of
from inventory.ground.typesetting import typeset
from inventory.ground.wording import day_text, minor_text, money_text, unit_cost_text

__all__ = ["RULE", "ShoppingRow", "shopping_pdf", "shopping_row"]

RULE = (
    "Pay up to what the cheapest offer would cost: its packs at their price, and their share by value of the postage on all "
    "of this list that is cheapest at the same supplier. Where nobody offers it, the price that quotes take."
)
_TEMPLATE = Path(__file__).with_name("shopping_list.typ")


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoppingRow:
    """A row: what, how much, the pack of the cheapest offer, up to which price in all and for a unit, and whose offer."""

    what: str
    quantity: str
    pack: str
    top: str
    top_each: str
    whose: str


def shopping_row(row: ToBuy, currency: str) -> ShoppingRow:
    """Return a row in words."""
    unit = row.item.unit
    if row.top is None or row.offer is None:
        each = row.item.unit_cost
        together = "" if each is None else minor_text(row.item.price_minor(row.quantity, currency), currency)
        pack, whose = "", "no price is kept" if each is None else "the price that quotes take"
    else:
        quoted = row.top.quoted
        each = currency_of(currency).from_minor(row.top.together) / amount_of(quoted.quantity, unit)
        together = money_text(currency_of(currency).round(each * amount_of(row.quantity, unit)), currency)
        pack = f"{quoted.packs} × {pack_text(row.offer.pack_thousandths, row.offer.pack_unit)}"
        postage = f", {minor_text(row.top.postage, currency)} of it postage" if row.top.postage else ""
        whose = f"{row.offer.supplier}: {minor_text(row.top.together, currency)} for {pack}{postage}"
    return ShoppingRow(
        what=str(row.item),
        quantity=quantity_text(row.quantity, unit) + (" raw" if row.item.material.washes_off else ""),
        pack=pack,
        top=together,
        top_each="" if each is None else f"{unit_cost_text(round(each, 4), currency)} / {unit.value}",
        whose=whose,
    )


def shopping_pdf(rows: Sequence[ToBuy], *, currency: str, workroom: str, on: date, paper: str) -> bytes:
    """Return the list to be ticked off by hand; `paper` is `a5` or `a4`."""
    data = {
        "workroom": workroom,
        "day": day_text(on),
        "paper": paper,
        "rule": RULE,
        "rows": [asdict(shopping_row(row, currency)) for row in rows],
    }
    return typeset(_TEMPLATE.read_bytes(), data, dated=on)
