"""The job on paper: what to cut, what to do in which order, seams to tick pass by pass, bones, materials, cautions."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path

from inventory.ground.measures import quantity_text
from inventory.ground.typesetting import typeset
from inventory.ground.wording import day_text, minutes_text
from inventory.models import ReservationLine
from inventory.shelf.settings import shelf
from quotes.documents.wording import cautions
from studio.bench.job_materials import Held, held, planned_lines
from studio.bench.material_page import BoneRow, bone_rows, closures, cutting_list
from studio.bench.seams import columns_of, passes_by_shell
from studio.models import Job, SeamPass

__all__ = ["JobSheet", "SeamTable", "job_sheet", "job_sheet_pdf"]

_TEMPLATE = Path(__file__).with_name("job_sheet.typ")


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamTable:
    """A shell: a row per seam, a box per half and pass; `is_done` where it is ticked already."""

    shell: str
    heads: list[str]
    rows: list[tuple[int, list[bool]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSheet:
    """All that the sheet shows, as text."""

    workroom: str
    reference: str
    title: str
    client: str
    construction: str
    style: str
    due: str
    promised: str
    on: str
    day: str
    pieces: list[tuple[str, list[str]]]
    operations: list[tuple[str, str, bool]]
    planned: str
    seams: list[SeamTable]
    bones: list[BoneRow]
    closures: list[str]
    materials: list[tuple[str, str, str, str]]  # what, how much, before which operation, from which lots
    cautions: list[str]


def job_sheet(job: Job, *, on: date) -> JobSheet:
    """Return a job's sheet as it stands on a day."""
    option = job.option
    operations = list(job.operations.all())
    taken = held(job)
    return JobSheet(
        workroom=shelf().name,
        reference=job.reference,
        title=job.title,
        client=job.client.name,
        construction=job.construction,
        style=job.style,
        due=day_text(job.due),
        promised=day_text(job.promised),
        on=day_text(on),
        day=on.isoformat(),
        pieces=[(layer, [f"{piece.label} {piece.half}" for piece in pieces]) for layer, pieces in cutting_list(option)],
        operations=[
            (operation.name, minutes_text(operation.planned_min), operation.done_at is not None)
            for operation in operations
        ],
        planned=minutes_text(sum(operation.planned_min for operation in operations)),
        seams=[_seam_table(shell, passes) for shell, passes in passes_by_shell(job).items()],
        bones=bone_rows(job),
        closures=closures(job),
        materials=[_material(line, taken) for line in planned_lines(job)],
        cautions=cautions("workroom", option, reduction_mm=job.revision.snapshot.reduction_mm),
    )


def job_sheet_pdf(sheet: JobSheet) -> bytes:
    """Return the sheet as a PDF; the same sheet gives the same bytes."""
    return typeset(_TEMPLATE.read_bytes(), asdict(sheet), dated=date.fromisoformat(sheet.day))


def _seam_table(shell: str, passes: Sequence[SeamPass]) -> SeamTable:
    done = {(seam_pass.half, seam_pass.seam, seam_pass.number): seam_pass.done_at is not None for seam_pass in passes}
    stitches = {seam_pass.number: seam_pass.stitch_mm for seam_pass in passes}
    columns = columns_of(passes)
    return SeamTable(
        shell=shell,
        heads=[
            f"{half} {number}" + (f", {stitches[number]:g} mm" if stitches[number] else "") for half, number in columns
        ],
        rows=[
            (seam, [done.get((half, seam, number), False) for half, number in columns])
            for seam in sorted({seam_pass.seam for seam_pass in passes})
        ],
    )


def _material(line: ReservationLine, taken: Sequence[Held]) -> tuple[str, str, str, str]:
    unit = line.item.unit
    lots = [
        f"{in_lot.lot}: {quantity_text(in_lot.issued, unit)} issued"
        for in_lot in taken
        if in_lot.issued and in_lot.lot.item_id == line.item_id
    ]
    if not lots and line.lot is not None:
        lots = [f"{line.lot} only"]
    return str(line.item), quantity_text(line.quantity, unit), line.operation, "; ".join(lots)
