"""The papers of a lay: its drawing, the plotter file, the cutting sheet with full-size tiles."""

from pathlib import Path

from inventory.ground.reading import write_file
from quotes.desk.lay_files import LayOrder
from quotes.documents.lay_dxf import lay_dxf
from quotes.documents.lay_sheets import Paper, lay_sheets
from quotes.documents.lay_svg import lay_svg
from quotes.drawings.cutting_table import CuttingTable, cutting_table
from quotes.lay.lay_plan import LayPlan, LayProblem

__all__ = ["PAPERS", "paper_of", "write_lay_papers"]

PAPERS = ("svg", "dxf", "pdf")
"""The kinds of paper, by the endings of their files."""


def paper_of(kind: str, table: CuttingTable, problem: LayProblem, plan: LayPlan, paper: Paper) -> bytes:
    """Return a paper of a lay: one of `PAPERS`, a PDF for tiles on `paper`."""
    if kind == "svg":
        return lay_svg(table).encode()
    return lay_dxf(table) if kind == "dxf" else lay_sheets(table, problem, plan, paper)


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
    for kind, name in zip(PAPERS, (svg, dxf, pdf), strict=True):
        if name:
            write_file(Path(name), paper_of(kind, table, order.problem, plan, paper), f"--{kind}")
