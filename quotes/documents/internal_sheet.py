"""The workroom's own sheet as a workbook: every line of every option, with the reason for its figure."""

from collections.abc import Iterable, Sequence
from decimal import Decimal
from io import BytesIO
from typing import Any

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.worksheet._write_only import WriteOnlyWorksheet

__all__ = ["internal_workbook"]

_BOLD = Font(bold=True)
Cell = str | int | float | Decimal

_PRICE_ROWS = (
    ("materials", "Materials"),
    ("labour", "Labour"),
    ("overhead", "Overhead"),
    ("contingency", "Contingency"),
    ("extras", "Extras"),
    ("cost", "Cost"),
    ("profit", "Profit"),
    ("fee", "Payment fee"),
    ("net", "Net price"),
    ("tax", "Tax"),
    ("gross", "Price to the client"),
    ("discount", "Discount given (in the net price)"),
    ("rush", "Rush (in the net price)"),
    ("per_hour", "Earned per hour"),
)


def internal_workbook(snapshot: dict[str, Any]) -> bytes:
    """Return an XLSX with the sheets Price, Costs, Materials, Labour, Pieces and Bones, from the snapshot alone."""
    quotation = snapshot["quotation"]
    options: Sequence[dict[str, Any]] = quotation["options"]
    workbook = Workbook(write_only=True)
    _sheet(
        workbook,
        "Price",
        [quotation["currency"], *(option["name"] for option in options)],
        ([words, *(Decimal(option[key]) for option in options)] for key, words in _PRICE_ROWS),
    )
    _sheet(
        workbook,
        "Costs",
        ["Option", "Group", "Line", "Quantity", "Unit", "Rate", "Amount"],
        (
            [
                option["name"],
                line["group"],
                line["what"],
                Decimal(line["quantity"]),
                line["unit"],
                Decimal(line["rate"]),
                Decimal(line["amount"]),
            ]
            for option in options
            for line in option["lines"]
        ),
    )
    _sheet(
        workbook,
        "Materials",
        ["Option", "Line", "Material", "Use", "Buy", "Unit", "Reason"],
        (
            [
                option["name"],
                line["code"],
                line["material"],
                Decimal(line["quantity"]),
                Decimal(line["buy_quantity"]),
                line["unit"],
                line["basis"],
            ]
            for option in options
            for line in option["takeoff"]["lines"]
        ),
    )
    _sheet(
        workbook,
        "Labour",
        ["Option", "Code", "Operation", "Driver", "Quantity", "Minutes"],
        (
            [
                option["name"],
                operation["code"],
                operation["name"],
                operation["driver"],
                operation["driver_quantity"],
                operation["minutes"],
            ]
            for option in options
            for operation in option["takeoff"]["labour"]["operations"]
        ),
    )
    _sheet(
        workbook,
        "Pieces",
        ["Option", "Label", "Panel", "Half", "Layer", "Cloth"],
        (
            [option["name"], piece["label"], piece["panel"], piece["half"], piece["layer"], piece["cloth"]]
            for option in options
            for piece in option["takeoff"]["pieces"]
        ),
    )
    _sheet(
        workbook,
        "Bones",
        ["Option", "Where", "Kind", "Channel mm", "Ideal mm", "Length mm", "Count"],
        (
            [
                option["name"],
                run["where"],
                run["kind"],
                run["channel_mm"],
                run["ideal_mm"],
                run["length_mm"],
                run["count"],
            ]
            for option in options
            for run in option["takeoff"]["bones"]
        ),
    )
    out = BytesIO()
    workbook.save(out)
    return out.getvalue()


def _sheet(workbook: Workbook, title: str, header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    sheet = workbook.create_sheet(title)
    sheet.freeze_panes = "A2"
    for index in range(len(header)):
        sheet.column_dimensions[chr(ord("A") + index)].width = 18
    sheet.append([_text(sheet, words, bold=True) for words in header])
    for row in rows:
        sheet.append([_text(sheet, cell) if isinstance(cell, str) else cell for cell in row])


def _text(sheet: WriteOnlyWorksheet, words: str, *, bold: bool = False) -> WriteOnlyCell:
    """A cell that stays text: a name that begins with = is no formula."""
    cell = WriteOnlyCell(sheet, value=words)
    cell.data_type = "s"
    if bold:
        cell.font = _BOLD
    return cell
