"""The papers of a lay that the command writes: drawing, plotter file, cutting sheet with tiles."""

from pathlib import Path

from inventory.ground.reading import write_file
from quotes.desk.lay_files import LayOrder
from quotes.documents.lay_dxf import lay_dxf
from quotes.documents.lay_sheets import Paper, lay_sheets
from quotes.documents.lay_svg import lay_svg
from quotes.drawings.cutting_table import cutting_table
from quotes.lay.lay_plan import LayPlan

__all__ = ["write_lay_papers"]


def write_lay_papers(
    order: LayOrder, plan: LayPlan, *, svg: str | None, dxf: str | None, pdf: str | None, paper: Paper
) -> None:
    """Write the papers that are asked for. Raises Refused where one cannot be written."""
    if not (svg or dxf or pdf):
        return
    table = cutting_table(
        order.name,
        order.problem,
        plan,
        marked=order.marked,
        partners=order.partners,
        is_folded=order.is_folded,
        is_in_mm=order.is_in_mm,
    )
    if svg:
        write_file(Path(svg), lay_svg(table).encode(), "--svg")
    if dxf:
        write_file(Path(dxf), lay_dxf(table), "--dxf")
    if pdf:
        write_file(Path(pdf), lay_sheets(table, plan, paper), "--pdf")
