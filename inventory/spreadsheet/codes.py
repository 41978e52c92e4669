"""The code that each row of a maker's table goes by: its own, or one that is made from its name."""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from inventory.ground.findings import Finding
from inventory.spreadsheet.cells import KnownMaterial, RowCells
from inventory.spreadsheet.words import Field

__all__ = ["CodedRow", "FreeCodes", "coded_rows"]

LONGEST_CODE = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class CodedRow:
    """A row with the code of its material, and that material where it is on the shelf already."""

    cells: RowCells
    code: str
    known: KnownMaterial | None


def coded_rows(
    rows: Sequence[RowCells], materials: Iterable[KnownMaterial], faults: defaultdict[int, list[Finding]]
) -> Iterator[CodedRow]:
    """Give every row the code of its material: its own, that of its name, or a new one made from its name."""
    exact = {known.code: known for known in materials}
    loose = {known.code.casefold(): known for known in exact.values()}
    by_name: dict[str, str] = {}
    for known in exact.values():
        by_name.setdefault(known.name.casefold(), known.code)
    own = _own_codes(rows, exact | loose, faults)
    for row in rows:
        if row.number in own:
            by_name.setdefault(row.text(Field.NAME).casefold(), own[row.number])
    made = FreeCodes([*exact, *loose, *own.values()])
    for row in rows:
        name = row.text(Field.NAME)
        if row.number in own:
            code = own[row.number]
        elif row.number in faults:
            continue
        elif not name:
            faults[row.number].append(row.wrong(Field.NAME, "There is no name and no code: write one of them."))
            continue
        elif (kept := by_name.get(name.casefold())) is not None:
            code = kept
        else:
            code = by_name[name.casefold()] = made.free(_slug(name)[: LONGEST_CODE - 6].strip("-") or "material")
        yield CodedRow(cells=row, code=code, known=exact.get(code))


def _own_codes(
    rows: Iterable[RowCells], there: Mapping[str, KnownMaterial], faults: defaultdict[int, list[Finding]]
) -> dict[int, str]:
    """The codes that rows say themselves, as they are kept, by the row's number."""
    first_said: dict[str, tuple[str, int]] = {}
    own: dict[int, str] = {}
    for row in rows:
        if not (said := row.text(Field.CODE)):
            continue
        known = there.get(said) or there.get(said.casefold())
        code = known.code if known else _slug(said)
        if not code or len(code) > LONGEST_CODE:
            message = f"“{said[:80]}” makes no code: write up to {LONGEST_CODE} letters and digits."
            faults[row.number].append(row.wrong(Field.CODE, message))
            continue
        words, number = first_said.setdefault(code, (said, row.number))
        if words.casefold() != said.casefold():
            message = f"“{said}” and “{words}” of row {number} would both be kept as {code}: alter one of them."
            faults[row.number].append(row.wrong(Field.CODE, message))
            continue
        own[row.number] = code
    return own


def _slug(text: str) -> str:
    """Small letters, digits, hyphens and underscores; `ß` is two letters, `œ` as well."""
    parted = text.casefold().replace("œ", "oe").replace("æ", "ae").replace("ø", "o")
    plain = unicodedata.normalize("NFKD", parted).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9_]+", "-", plain).strip("-")


class FreeCodes:
    """Hands out codes that nothing goes by yet, each once."""

    def __init__(self, taken: Iterable[str]) -> None:
        self._taken = set(taken)
        self._last: dict[str, int] = {}

    def free(self, code: str) -> str:
        """Return the code, or with the first number behind it that makes it free."""
        found = code
        while found in self._taken:
            self._last[code] = self._last.get(code, 1) + 1
            found = f"{code}-{self._last[code]}"
        self._taken.add(found)
        return found
