"""What pages of a tiled drawing say of their own place: `A1`, `row 1 col 2`, `page 3 of 12`."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from quotes.pattern.sheet import Label

__all__ = ["Naming", "is_direction", "namings_of", "place_words"]

_ROW = r"(?:row|r|zeile|reihe|rang|ligne)"
_COLUMN = r"(?:col(?:umn)?|c|spalte|colonne)"
_PAGE = r"(?:page|tile|sheet|part|seite|blatt|teil|feuille|pagina)"
_ROW_COLUMN = re.compile(rf"{_ROW}[\s.:]*(\d{{1,2}}|[a-z])[\s,;/·|-]*{_COLUMN}[\s.:]*(\d{{1,2}}|[a-z])", re.IGNORECASE)
_COLUMN_ROW = re.compile(rf"{_COLUMN}[\s.:]*(\d{{1,2}}|[a-z])[\s,;/·|-]*{_ROW}[\s.:]*(\d{{1,2}}|[a-z])", re.IGNORECASE)
_ROW_COLUMN_SPOKEN = re.compile(
    r"\b(?:row|zeile|reihe)\s+(\d{1,2}|[a-z])\b[\s,;/·|-]*(?:col|column|spalte)\s+(\d{1,2}|[a-z])\b", re.IGNORECASE
)
_GRID = re.compile(rf"(?:{_PAGE}[\s.:#]*)?([a-z])[\s-]?(\d{{1,2}})", re.IGNORECASE)
_COUNT = re.compile(rf"(?:{_PAGE}[\s.:#]*)?(\d{{1,3}})\s*(?:of|von|de|/)\s*(\d{{1,3}})", re.IGNORECASE)
_COUNT_SPOKEN = re.compile(rf"\b{_PAGE}\s+(\d{{1,3}})\s+(?:of|von|de)\s+(\d{{1,3}})\b", re.IGNORECASE)
_PAGE_ALONE = re.compile(rf"{_PAGE}[\s.:#]*(\d{{1,3}})", re.IGNORECASE)
_DIRECTION = re.compile(
    r"[←→↑↓⇐⇒⇑⇓◄►▲▼<>]|\b(?:join|joins|attach|glue|tape|match|next|anlegen|ankleben|coller)\b"
    r"|^(?:to the |on the )?(?:left|right|above|below|top|bottom|links|rechts|oben|unten)\s*:",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Naming:
    """Places that pages say, by the pages' positions in the file.

    `kind` is "row and column", "letter and number" or "count"; a place is (row, column), (letter, number) or (count, 0),
    from 1. `total` is how many pages a count is of, 0 where it says none.
    """

    kind: str
    places: dict[int, tuple[int, int]]
    total: int = 0

    def said(self, place: tuple[int, int]) -> str:
        """Return a place in the words of its kind."""
        if self.kind == "count":
            return str(place[0])
        lettered = f"{chr(ord('A') + place[0] - 1)}{place[1]}"
        return lettered if self.kind == "letter and number" else f"row {place[0]} column {place[1]}"


def namings_of(pages: Sequence[Sequence[Label]], drawn: int) -> tuple[Naming, ...]:
    """Return the ways in which pages name their places, the most telling first; those only in which no two pages are alike.

    `drawn` is how many pages draw lines; at least half as many have to say their place.
    """
    found = []
    for kind in ("row and column", "letter and number", "count"):
        places: dict[int, tuple[int, int]] = {}
        totals: Counter[int] = Counter()
        for at, labels in enumerate(pages):
            told = [
                (label, said) for label in labels if (said := _place(kind, label.text)) and not is_direction(label.text)
            ]
            if told:
                # A page's own place is written larger than those of its neighbours.
                places[at], total = max(told, key=lambda entry: entry[0].height)[1]
                totals[total] += 1
        if len(places) > 1 and len(set(places.values())) == len(places) and 2 * len(places) >= drawn:
            total = totals.most_common(1)[0][0]
            found.append(Naming(kind, places, total if total >= max(first for first, _ in places.values()) else 0))
    return tuple(found)


def place_words(text: str) -> bool:
    """Tell whether a text is the place of a page, or says it in full words.

    >>> place_words("Willow, page 3 of 12"), place_words("row 1 col 2"), place_words("B2"), place_words("3")
    (True, True, True, False)
    """
    return any(_place(kind, text) for kind in ("row and column", "letter and number", "count"))


def is_direction(text: str) -> bool:
    """Tell whether a text leads to another page: an arrow, or words such as join and glue."""
    return bool(_DIRECTION.search(text))


def _place(kind: str, text: str) -> tuple[tuple[int, int], int] | None:
    plain = text.strip(" .()[]-–—|")
    if kind == "row and column":
        if found := _ROW_COLUMN.fullmatch(plain) or _ROW_COLUMN_SPOKEN.search(plain):
            return (_ordinal(found[1]), _ordinal(found[2])), 0
        if found := _COLUMN_ROW.fullmatch(plain):
            return (_ordinal(found[2]), _ordinal(found[1])), 0
        return None
    if kind == "letter and number":
        found = _GRID.fullmatch(plain)
        return ((_ordinal(found[1]), int(found[2])), 0) if found else None
    if found := _COUNT.fullmatch(plain) or _COUNT_SPOKEN.search(plain):
        count, total = int(found[1]), int(found[2])
        return ((count, 0), total) if 0 < count <= total else None
    found = _PAGE_ALONE.fullmatch(plain)
    return ((int(found[1]), 0), 0) if found else None


def _ordinal(word: str) -> int:
    return int(word) if word.isdigit() else ord(word.lower()) - ord("a") + 1
