"""The words of other people's tables: what their headers, kinds and units are called, and which of ours they mean.

Words: a *field* is what this shelf keeps of a row, a *column* where it stands in the maker's table, from 0. The lists
are common practice, no source; add a word where one is missing, of a kind in `inventory.ground.materials`.
"""

import hashlib
import re
from collections.abc import Sequence
from enum import StrEnum
from functools import lru_cache

from inventory.ground.materials import KINDS, MaterialKind
from inventory.ground.units import LengthUnit

__all__ = [
    "LABELS",
    "Field",
    "guess_columns",
    "header_key",
    "header_place",
    "kind_of",
    "length_unit_of",
    "unit_codes",
]


class Field(StrEnum):
    """What can be taken from a row."""

    CODE = "code"
    NAME = "name"
    KIND = "kind"
    COLOUR = "colour"
    UNIT_COST = "unit_cost"
    QUANTITY = "quantity"
    UNIT = "unit"
    VALUE = "value"
    LENGTH = "length"
    WIDTH = "width"
    DYE_LOT = "dye_lot"
    PLACE = "place"
    SUPPLIER = "supplier"
    NOTE = "note"


LABELS: dict[Field, str] = {
    Field.CODE: "code",
    Field.NAME: "name",
    Field.KIND: "kind",
    Field.COLOUR: "colour",
    Field.UNIT_COST: "unit cost",
    Field.QUANTITY: "quantity on hand",
    Field.UNIT: "unit of the quantity",
    Field.VALUE: "value of the stock",
    Field.LENGTH: "length",
    Field.WIDTH: "usable width",
    Field.DYE_LOT: "dye lot",
    Field.PLACE: "storage place",
    Field.SUPPLIER: "supplier code",
    Field.NOTE: "note",
}

_HEADERS: dict[Field, str] = {
    Field.CODE: "code, sku, short name, article, article no, article number, item code, item no, item number, "
    "material code, stock code, product code, ref, reference, id",
    Field.NAME: "name, material, item, description, product, title, article name, what",
    Field.KIND: "kind, type, category, group, material type, item type, product type",
    Field.COLOUR: "colour, color, shade",
    Field.UNIT_COST: "unit cost, unit price, price, cost, cost each, price each, cost per unit, price per unit, price of one",
    Field.QUANTITY: "quantity, qty, on hand, quantity on hand, qty on hand, stock, in stock, amount, balance, count, "
    "stock quantity, opening stock",
    Field.UNIT: "unit, units, uom, measure, unit of measure, unit of the quantity, stock unit",
    Field.VALUE: "value, stock value, value of the stock, total, total value, total cost, worth",
    Field.LENGTH: "length, size, bone length, busk length",
    Field.WIDTH: "usable width, width",
    Field.DYE_LOT: "dye lot, dyelot, lot, batch, colour lot, color lot, lot number, lot no, batch no",
    Field.PLACE: "storage place, place, location, shelf, bin, drawer, storage, stored",
    Field.SUPPLIER: "supplier code, supplier, vendor, shop, bought from",
    Field.NOTE: "note, notes, remark, remarks, comment, comments",
}


_UNITS: dict[tuple[str, str], str] = {
    # Nobody sells by the millimetre, the centimetre or the inch: their price is for a metre or a yard.
    ("MTR", "MTR"): "m, metre, meter, mtr, mtrs, mt, running metre, running meter",
    ("CMT", "MTR"): "cm, centimetre, centimeter",
    ("MMT", "MTR"): "mm, millimetre, millimeter",
    ("YRD", "YRD"): "yd, yard, yds",
    ("FOT", "FOT"): "ft, foot, feet",
    ("INH", "YRD"): "in, inch, inches",
    ("EA", "EA"): "each, ea, pc, pcs, piece, item, no, pieces, stk",
    ("PR", "PR"): "pair, pr, prs",
    ("SET", "SET"): "set",
    ("DZN", "DZN"): "dozen, dz, doz, dzn",
    ("GRO", "GRO"): "gross, gro",
}


def _plain(text: str) -> str:
    """Words in small letters with one space between."""
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))


def _listed(words: str) -> list[str]:
    return words.split(", ")


_FIELD_OF = {word: field for field, words in _HEADERS.items() for word in _listed(words)}
_KIND_OF = {word: kind for kind, facts in KINDS.items() for word in _listed(facts.words)}
_CODES_OF = {word: codes for codes, words in _UNITS.items() for word in _listed(words)}


@lru_cache(maxsize=1000)
def kind_of(text: str) -> MaterialKind | None:
    """Return the kind that a word means, in the singular or plural; None where it is not known.

    >>> kind_of("Eyelets"), kind_of("waist-tape"), kind_of("sparkle")
    (<MaterialKind.GROMMET: 'grommet'>, <MaterialKind.WAIST_TAPE: 'waist-tape'>, None)
    """
    words = _plain(text)
    return _KIND_OF.get(words) or _KIND_OF.get(words.removesuffix("s"))


@lru_cache(maxsize=1000)
def unit_codes(text: str) -> tuple[str, str] | None:
    """Return the Recommendation 20 codes of the unit that a word means, and of what a price beside it is for.

    >>> unit_codes("Yards"), unit_codes("cm"), unit_codes("armful")
    (('YRD', 'YRD'), ('CMT', 'MTR'), None)
    """
    words = _plain(text)
    return _CODES_OF.get(words) or _CODES_OF.get(words.removesuffix("s"))


def length_unit_of(header: str) -> LengthUnit:
    """Return the unit that a header such as `Length (cm)` names; millimetres where it names none."""
    words = _plain(header).split()
    # "in" is asked for last: "length in cm" is no length in inches.
    named = {"mm": LengthUnit.MM, "cm": LengthUnit.CM, **dict.fromkeys(("inch", "inches", "in"), LengthUnit.INCH)}
    return next((unit for word, unit in named.items() if word in words), LengthUnit.MM)


def guess_columns(header: Sequence[str]) -> dict[Field, int]:
    """Return which column is likely to hold which field: first by whole headers, then by the longest word in them.

    >>> {field.value: column for field, column in guess_columns(["Item", "Qty (m)", "Supplier code"]).items()}
    {'name': 0, 'quantity': 1, 'supplier': 2}
    """
    heads = [_plain(re.sub(r"\(.*?\)|\[.*?\]", " ", cell)) for cell in header]
    found: dict[Field, int] = {}
    for column, words in enumerate(heads):
        if (field := _FIELD_OF.get(words)) is not None:
            found.setdefault(field, column)
    for column, words in enumerate(heads):
        if column in found.values() or not words:
            continue
        inside = [word for word in _FIELD_OF if f" {word} " in f" {words} " and _FIELD_OF[word] not in found]
        if inside:
            found[_FIELD_OF[max(inside, key=len)]] = column
    return found


def header_place(rows: Sequence[Sequence[str]]) -> int:
    """Return which of a table's first rows is its header: the one with the most words known, else the first filled."""
    first = next((place for place, row in enumerate(rows) if any(row)), 0)
    return max(range(first, min(first + 20, len(rows))), key=lambda place: (len(guess_columns(rows[place])), -place))


def header_key(header: Sequence[str]) -> str:
    """Return the fingerprint by which a header is known again, whatever its capitals and spaces."""
    return hashlib.sha256("\n".join(map(_plain, header)).encode()).hexdigest()
