"""The starter list: what a corset takes, at prices from memory, in the currency of the workroom.

The question: what may a first quote reckon with before anything was bought? The prices stand in one currency;
in another they are so many times the number, to as many digits as memory has.
"""

from collections import Counter
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import cache

import msgspec

from inventory.ground.codec import Document
from inventory.ground.materials import MaterialKind
from inventory.ground.reading import data_beside

__all__ = ["StarterList", "StarterMaterial", "price_from_memory", "read_starter_list", "starter_list"]

DIGITS_REMEMBERED = 2
MOST_DECIMALS = 6
"""What a price on the shelf may have."""


class StarterMaterial(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A material as the list has it; `price` of one stock unit, in the currency of the list."""

    code: str
    name: str
    kind: MaterialKind
    price: Decimal
    usable_width_mm: int | None = None
    shrinkage_permille: int = 0
    has_nap: bool = False
    step_mm: int | None = None
    pack: int | None = None
    width_mm: Decimal | None = None
    colour: str = ""


class StarterList(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The list. `one_is` says by code how much of other currencies one unit of its own `currency` roughly is."""

    about: str
    source: str
    currency: str
    one_is: dict[str, Decimal]
    one_is_source: str
    materials: tuple[StarterMaterial, ...]


@cache
def starter_list() -> StarterList:
    """Return the list that is shipped."""
    return read_starter_list(data_beside(__file__, "starter_materials.json"))


def read_starter_list(document: Document) -> StarterList:
    """Return the list that a document says. Raises ValueError for one that is not just of its form: a fault of ours."""
    found = msgspec.convert(document, StarterList)
    twice = [code for code, count in Counter(row.code for row in found.materials).items() if count > 1]
    if twice:
        raise ValueError(f"{twice[0]} stands twice in the starter list.")
    figures = {**{row.code: row.price for row in found.materials}, **found.one_is}
    if wrong := [name for name, figure in figures.items() if not (figure.is_finite() and figure > 0)]:
        raise ValueError(f"{wrong[0]} is not more than zero in the starter list.")
    return found


def price_from_memory(price: Decimal, one_is: Decimal) -> Decimal:
    """Return a price of the list in a currency of which one unit of the list's is so much, > 0; two digits are remembered.

    >>> str(price_from_memory(Decimal(24), Decimal(160))), str(price_from_memory(Decimal("0.12"), Decimal("0.35")))
    ('3800', '0.042')
    """
    rough = Context(prec=DIGITS_REMEMBERED, rounding=ROUND_HALF_UP).multiply(price, one_is)
    least = Decimal(1).scaleb(-MOST_DECIMALS)
    return Decimal(f"{max(least, round(rough, MOST_DECIMALS)).normalize():f}")
