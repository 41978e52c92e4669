"""The workroom's own sheet as a workbook: every line of every option, with the reason for its figure."""

from inventory.ground.sheets import SheetBook
from quotes.seal.snapshot import Snapshot

__all__ = ["internal_workbook"]

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


def internal_workbook(snapshot: Snapshot) -> bytes:
    """Return an XLSX with the sheets Price, Costs, Materials, Labour, Pieces and Bones, from the snapshot alone."""
    quotation = snapshot.quotation
    options = quotation.options
    workbook = SheetBook()
    workbook.sheet(
        "Price",
        [quotation.currency, *(option.name for option in options)],
        ([words, *(getattr(option, key) for option in options)] for key, words in _PRICE_ROWS),
    )
    workbook.sheet(
        "Costs",
        ["Option", "Group", "Line", "Quantity", "Unit", "Rate", "Amount"],
        (
            [
                option.name,
                line.group,
                line.what,
                line.quantity,
                line.unit,
                line.rate,
                line.amount,
            ]
            for option in options
            for line in option.lines
        ),
    )
    workbook.sheet(
        "Materials",
        ["Option", "Line", "Material", "Use", "Buy", "Unit", "Reason"],
        (
            [
                option.name,
                line.code,
                line.material,
                line.quantity,
                line.buy_quantity,
                line.unit,
                line.basis,
            ]
            for option in options
            for line in option.takeoff.lines
        ),
    )
    workbook.sheet(
        "Labour",
        ["Option", "Code", "Operation", "Driver", "Quantity", "Minutes"],
        (
            [
                option.name,
                operation.code,
                operation.name,
                operation.driver,
                operation.driver_quantity,
                operation.minutes,
            ]
            for option in options
            for operation in option.takeoff.labour.operations
        ),
    )
    workbook.sheet(
        "Pieces",
        ["Option", "Label", "Panel", "Half", "Layer", "Cloth"],
        (
            [option.name, piece.label, piece.panel, piece.half, piece.layer, piece.cloth]
            for option in options
            for piece in option.takeoff.pieces
        ),
    )
    workbook.sheet(
        "Bones",
        ["Option", "Where", "Kind", "Channel mm", "Ideal mm", "Length mm", "Count", "Form", "Cut from mm"],
        (
            [
                option.name,
                run.where,
                run.kind,
                run.channel_mm,
                run.ideal_mm,
                run.length_mm,
                run.count,
                run.drawer_form.value,
                run.cut_from_mm or None,
            ]
            for option in options
            for run in option.takeoff.bones
        ),
    )
    return workbook.data()
