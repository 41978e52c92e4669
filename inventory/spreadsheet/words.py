"""The words of other people's tables: what their headers, kinds, units and totals are called, and which of ours they mean.

Words: a *field* is what this shelf keeps of a row, a *column* where it stands in the maker's table, from 0. The words
stand by language in `words.json`, from memory; English ones of a kind in `inventory.ground.materials`.
"""

import hashlib
import re
from collections.abc import Iterator, Sequence
from enum import StrEnum
from functools import lru_cache

from inventory.ground.materials import KINDS, MaterialKind
from inventory.ground.reading import data_beside
from inventory.ground.units import LengthUnit

__all__ = [
    "LABELS",
    "Field",
    "guess_columns",
    "header_key",
    "header_place",
    "is_total",
    "kind_of",
    "known_headers",
    "length_unit_of",
    "likely_kind",
    "plain_words",
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


def plain_words(text: str) -> str:
    """Return words in small letters with one space between.

    >>> plain_words("Art.-Nr. (neu)")
    'art nr neu'
    """
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))


def _by_word(section: str) -> Iterator[tuple[str, str]]:
    """Each word of a section of the data, plain, with what it means."""
    for meaning, languages in _WORDS[section].items():
        for words in languages.values():
            for word in words.split(", "):
                yield plain_words(word), meaning


_SHORTEST_PART = 4
"""Shorter words stand by themselves; longer ones may be part of a compound."""
_WORDS = data_beside(__file__, "words.json")
# English stands first, and the first meaning of a word counts.
_FIELD_OF: dict[str, Field] = {}
for _word, _meaning in _by_word("headers"):
    _FIELD_OF.setdefault(_word, Field(_meaning))
_CODES_OF: dict[str, tuple[str, str]] = {}
for _word, _meaning in _by_word("units"):
    _code, _priced = _meaning.split()
    _CODES_OF.setdefault(_word, (_code, _priced))
_KIND_OF = {plain_words(word): kind for kind, facts in KINDS.items() for word in facts.words.split(", ")}
for _word, _meaning in _by_word("kinds"):
    _KIND_OF.setdefault(_word, MaterialKind(_meaning))
_PERHAPS = {word: MaterialKind(meaning) for word, meaning in _by_word("perhaps")}
_TOTALS = re.compile(
    rf"(?:{'|'.join(plain_words(word) for words in _WORDS['totals'].values() for word in words.split(', '))})\b"
)


@lru_cache(maxsize=1000)
def kind_of(text: str) -> MaterialKind | None:
    """Return the kind that a word means, in the singular or plural; None where it is not known.

    >>> kind_of("Eyelets"), kind_of("waist-tape"), kind_of("sparkle")
    (<MaterialKind.GROMMET: 'grommet'>, <MaterialKind.WAIST_TAPE: 'waist-tape'>, None)
    """
    words = plain_words(text)
    return _KIND_OF.get(words) or _KIND_OF.get(words.removesuffix("s"))


@lru_cache(maxsize=1000)
def likely_kind(text: str) -> MaterialKind | None:
    """Return the kind that words may mean, by the longest known word in them, the last of several; None without one.

    >>> likely_kind("Stahl 7 mm"), likely_kind("Korsettdrellstoff weiß"), likely_kind("sparkle")
    (<MaterialKind.FLAT: 'flat'>, <MaterialKind.CLOTH: 'cloth'>, None)
    """
    words = plain_words(text)
    whole = _KIND_OF.get(words) or _PERHAPS.get(words)
    inside = [
        (len(known), words.rindex(known), kind)
        for known, kind in (_KIND_OF | _PERHAPS).items()
        if (f" {known} " in f" {words} " if len(known) < _SHORTEST_PART else known in words)
    ]
    return whole or (max(inside, key=lambda found: found[:2])[2] if inside else None)


def is_total(text: str) -> bool:
    """Tell whether a cell begins a row that sums others.

    >>> is_total("Zwischensumme Stoffe:"), is_total("Total"), is_total("Totally white coutil")
    (True, True, False)
    """
    return _TOTALS.match(plain_words(text)) is not None


@lru_cache(maxsize=1000)
def unit_codes(text: str) -> tuple[str, str] | None:
    """Return the Recommendation 20 codes of the unit that a word means, and of what a price beside it is for.

    >>> unit_codes("Yards"), unit_codes("cm"), unit_codes("armful")
    (('YRD', 'YRD'), ('CMT', 'MTR'), None)
    """
    words = plain_words(text)
    return _CODES_OF.get(words) or _CODES_OF.get(words.removesuffix("s"))


def length_unit_of(header: str) -> LengthUnit:
    """Return the unit that a header such as `Length (cm)` names; millimetres where it names none."""
    words = plain_words(header).split()
    # "in" is asked for last: "length in cm" is no length in inches.
    named = {
        "mm": LengthUnit.MM,
        "cm": LengthUnit.CM,
        **dict.fromkeys(("inch", "inches", "in", "zoll", "pouce", "pouces"), LengthUnit.INCH),
    }
    return next((unit for word, unit in named.items() if word in words), LengthUnit.MM)


def guess_columns(header: Sequence[str]) -> dict[Field, int]:
    """Return which column is likely to hold which field: first by whole headers, then by the longest word in them.

    >>> {field.value: column for field, column in guess_columns(["Item", "Qty (m)", "Supplier code"]).items()}
    {'name': 0, 'quantity': 1, 'supplier': 2}
    """
    heads = [_header_words(cell) for cell in header]
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


def _header_words(cell: str) -> str:
    return plain_words(re.sub(r"\(.*?\)|\[.*?\]", " ", cell))


def known_headers(cells: Sequence[str]) -> frozenset[Field]:
    """Return the fields that cells name whole, which cells below a header hardly do.

    >>> sorted(known_headers(["Bezeichnung", "Menge (m)", "Shelf 2"]))
    [<Field.NAME: 'name'>, <Field.QUANTITY: 'quantity'>]
    """
    return frozenset(_FIELD_OF[words] for cell in cells if (words := _header_words(cell)) in _FIELD_OF)


def header_place(rows: Sequence[Sequence[str]]) -> int:
    """Return which of a table's first rows is its header: the one with the most words known, else the first filled."""
    first = next((place for place, row in enumerate(rows) if any(row)), 0)
    return max(range(first, min(first + 20, len(rows))), key=lambda place: (len(guess_columns(rows[place])), -place))


def header_key(header: Sequence[str]) -> str:
    """Return the fingerprint by which a header is known again, whatever its capitals and spaces."""
    return hashlib.sha256("\n".join(map(plain_words, header)).encode()).hexdigest()
