"""The papers of a lay: its drawing, the plotter file, the cutting sheet with full-size tiles."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from inventory.ground.reading import place_for, write_file
from quotes.desk.lay_files import LayOrder
from quotes.documents.lay_dxf import lay_dxf
from quotes.documents.lay_sheets import Paper, lay_sheets
from quotes.documents.lay_svg import lay_svg
from quotes.drawings.cutting_table import CuttingTable, cutting_table
from quotes.lay.lay_plan import LayPlan, LayProblem

__all__ = ["PAPERS", "paper_of", "places_of_papers", "write_lay_papers"]

PAPERS = ("svg", "dxf", "pdf")
"""The kinds of paper, by the endings of their files."""


def paper_of(kind: str, table: CuttingTable, problem: LayProblem, plan: LayPlan, paper: Paper) -> bytes:
    """Return a paper of a lay: one of `PAPERS`, a PDF for tiles on `paper`."""
    if kind == "svg":
        return lay_svg(table).encode()
    return lay_dxf(table) if kind == "dxf" else lay_sheets(table, problem, plan, paper)


def places_of_papers(named: Mapping[str, str | None], given: Sequence[Path]) -> dict[str, Path]:
    """Return where the papers go that are asked for, by their kinds, asked before the lay is searched for.

    Args:
        named: files by the kinds of paper; None for a paper that is not asked for.
        given: the files that are laid.

    Raises:
        Refused: no file can be written there, or it is one that is laid or that another paper goes to.
    """
    places: dict[str, Path] = {}
    for kind, name in named.items():
        if name is not None:
            places[kind] = place_for(name, f"--{kind}", taken=[*given, *places.values()])
    return places


def write_lay_papers(order: LayOrder, plan: LayPlan, places: Mapping[str, Path], paper: Paper) -> None:
    """Write the papers where they go, once all are drawn. Raises Refused where one cannot be written."""
    if not places:
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
    drawn = {kind: paper_of(kind, table, order.problem, plan, paper) for kind in places}
    for kind, path in places.items():
        write_file(path, drawn[kind], f"--{kind}")
