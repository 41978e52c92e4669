"""The count sheet as a workbook: it goes out with a line a lot, is filled in, and comes back."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from inventory.ground.findings import Finding, Refused, refuse
from inventory.ground.materials import StockUnit
from inventory.ground.measures import amount_of
from inventory.ground.sheets import SheetBook
from inventory.reckoning.weighing import counted_quantity
from inventory.spreadsheet.rows import sheet_rows

__all__ = ["ReturnedCount", "SheetLine", "not_its_movement", "returned_counts", "stocktake_sheet"]

MOST_FAULTS = 20


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """A lot to count, with what the book holds of it in base units, and the number of its last movement."""

    line: int
    place: str
    material: str
    lot: str
    unit: StockUnit
    book: int
    movement: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnedCount:
    """What the sheet says of a line, in base units, and in which row.

    `movement` is the lot's last one when the sheet was handed out; None in a sheet that does not say it.
    """

    line: int
    quantity: int
    row: int
    movement: int | None


def stocktake_sheet(number: int, lines: Sequence[SheetLine], *, is_blind: bool) -> bytes:
    """Return an XLSX with an empty column `Counted`, and with the book beside it unless the count is blind."""
    book = [] if is_blind else ["Book"]
    workbook = SheetBook()
    workbook.sheet(
        f"Stocktake {number}",
        ["Stocktake", "Line", "Movement", "Place", "Material", "Lot", "Unit", *book, "Counted"],
        (
            [
                number,
                line.line,
                line.movement,
                line.place,
                line.material,
                line.lot,
                line.unit.value,
                *([] if is_blind else [amount_of(line.book, line.unit)]),
                None,
            ]
            for line in lines
        ),
    )
    return workbook.data()


def returned_counts(data: bytes, filename: str, number: int, units: Mapping[int, StockUnit]) -> list[ReturnedCount]:
    """Return what a sheet that came back counts; lines without a count are left out.

    Args:
        number: the stocktake that the sheet must belong to.
        units: for each of its lines, the unit that the amounts are in.

    Raises:
        Refused: another stocktake's sheet, rows that it did not go out with, or no numbers, each by its row.
    """
    rows = sheet_rows(data, filename)
    head, columns = _header(rows)
    counts: dict[int, ReturnedCount] = {}
    faults: list[Finding] = []
    for row, cells in enumerate(rows[head + 1 :], start=head + 2):
        of_stocktake, line_text, counted, *movement = (cells[column] for column in columns)
        if not (of_stocktake or line_text or counted):
            continue
        if of_stocktake != str(number):
            raise refuse(
                "stocktake.other-sheet",
                f"row {row}",
                f"The row belongs to stocktake {of_stocktake[:20] or '(none)'}, not to {number}.",
                "Hand in the sheet that was made for this count.",
            )
        try:
            line = _line(row, line_text, units, counts)
            if counted:
                counts[line] = _count(row, line, counted, units[line], movement)
        except Refused as refusal:
            faults += refusal.findings
        if len(faults) == MOST_FAULTS:
            break
    if faults:
        raise Refused(faults)
    if not counts:
        raise refuse("stocktake.sheet-empty", filename, "Nothing is counted in the sheet.", "Fill the column Counted.")
    return list(counts.values())


def not_its_movement(row: int, said: object) -> Refused:
    """The refusal of a row whose movement is not one of its lot."""
    return refuse(
        "stocktake.other-movement",
        f"row {row}, Movement",
        f"{str(said)[:20] or '(none)'} is no movement of this lot.",
        "Leave the columns Stocktake, Line and Movement as they are, or take a new sheet.",
    )


def _header(rows: Iterable[Sequence[str]]) -> tuple[int, list[int]]:
    """Which row is the header, and where its three columns stand, and that of the movement where there is one."""
    for head, cells in enumerate(rows):
        names = [cell.casefold() for cell in cells]
        if all(name in names for name in ("stocktake", "line", "counted")):
            known = ("stocktake", "line", "counted", *(["movement"] if "movement" in names else []))
            return head, [names.index(name) for name in known]
    raise refuse(
        "stocktake.columns",
        "row 1",
        "The sheet lacks one of the columns Stocktake, Line and Counted.",
        "Fill in the sheet as it was handed out.",
    )


def _line(row: int, text: str, units: Mapping[int, StockUnit], counts: Mapping[int, ReturnedCount]) -> int:
    line = _whole(text) or 0
    if line not in units:
        raise refuse(
            "stocktake.unknown-line",
            f"row {row}",
            f"Line {text[:20] or '(none)'} is not of this stocktake.",
            "Leave the columns Stocktake, Line and Movement as they are; receive what the sheet does not list.",
        )
    if line in counts:
        raise refuse(
            "stocktake.line-twice", f"row {row}", f"Line {line} is counted in row {counts[line].row} too.", "Keep one."
        )
    return line


def _whole(text: str) -> int | None:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 19 else None


def _count(row: int, line: int, counted: str, unit: StockUnit, movement: Sequence[str]) -> ReturnedCount:
    seen = _whole(movement[0]) if movement else None
    if movement and seen is None:
        raise not_its_movement(row, movement[0])
    try:
        return ReturnedCount(line=line, quantity=counted_quantity(counted, unit), row=row, movement=seen)
    except ValueError as error:
        raise refuse("stocktake.not-a-count", f"row {row}, Counted", str(error)) from None
