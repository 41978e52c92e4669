"""What a sealed piece wants cut: its bones, casings, waist tape, cord and bought binding, each with its place.

Cloth is cut by its lay and stands elsewhere. Lengths are whole tenths of a millimetre, as the lengths of items are.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import KINDS, MaterialKind
from quotes.seal.sealed import SealedLine, SealedTakeoff
from quotes.takeoff.defaults import defaults
from quotes.takeoff.takeoff import BonePlace, BoneRun

__all__ = ["CUT_KINDS", "TENTHS", "Wanted", "wanted_of"]

TENTHS = 10
CUT_KINDS = (
    *(kind for kind, facts in KINDS.items() if facts.form is not None),
    *(MaterialKind.CASING, MaterialKind.WAIST_TAPE, MaterialKind.CORD, MaterialKind.BINDING),
)
"""The kinds of material that stand on a cut list."""
BINDING_ENDS = 8
MOST_BINDING_END_MM = 100.0
ALIKE_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Like pieces of one material at one place of a job.

    Attributes:
        material: its code on the price list.
        form: of a bone, in which form its quote takes it from the drawer; empty for tapes and cords.
        size: length of the bone that it is planned to be made of; 0 for what comes off a coil or roll.
        length: of one piece.
        is_cut: it may be cut of something longer; else it is taken as it lies there.
        one_lot: it shows, so that all of it in a job is of one lot.
        lot: the lot that it is kept from, where one was chosen.
    """

    job: str
    where: str
    material: str
    form: str
    size: int
    length: int
    count: int
    is_cut: bool = True
    one_lot: bool = False
    lot: int | None = None


def wanted_of(takeoff: SealedTakeoff, *, job: str) -> tuple[tuple[Wanted, ...], tuple[str, ...]]:
    """Return what a sealed takeoff wants cut, and a sentence for each thing that cannot be told from it."""
    lines = {line.code: line for line in takeoff.lines}
    casings = _casings(takeoff)
    wanted = [
        *_bones(takeoff, job),
        *_of_line(lines.get("casing"), casings or (), job),
        *_of_line(lines.get("waist-tape"), (("waist", takeoff.tape_mm, 1),), job),
        *_of_line(lines.get("binding"), _edges(takeoff), job),
    ]
    if (cord := lines.get("cord")) is not None:
        wanted += _of_line(cord, (("lacing", float(cord.quantity) * 1000, 1),), job)
    untold = (
        ()
        if casings is not None
        else (f"{job}: its casings are {takeoff.casing_mm:.0f} mm together; cut them by their channels.",)
    )
    return tuple(wanted), untold


def _bones(takeoff: SealedTakeoff, job: str) -> Iterator[Wanted]:
    for run in takeoff.bones:
        form = run.drawer_form
        size = 0.0 if form is BoneForm.COIL else run.cut_from_mm or run.length_mm
        yield Wanted(
            job=job,
            where=run.where,
            material=run.material or _material_of(run, takeoff.lines),
            form=form.value,
            size=round(size * TENTHS),
            length=round(run.length_mm * TENTHS),
            count=run.count,
            is_cut=run.is_cut or form is BoneForm.CUT,
        )


def _material_of(run: BoneRun, lines: Sequence[SealedLine]) -> str:
    """Of a bone that was sealed before bones named their material."""
    return next((line.material for line in lines if line.code.split(".")[0] == run.kind), "")


def _of_line(line: SealedLine | None, pieces: Sequence[tuple[str, float, int]], job: str) -> Iterator[Wanted]:
    """Pieces (place, mm, count) of what comes off a roll; none where the option has no such line or takes no length."""
    for where, length_mm, count in pieces if line is not None else ():
        if line is not None and length_mm > 0:
            yield Wanted(
                job=job,
                where=where,
                material=line.material,
                form="",
                size=0,
                length=round(length_mm * TENTHS),
                count=count,
                one_lot=line.needed.is_visible,
            )


def _casings(takeoff: SealedTakeoff) -> tuple[tuple[str, float, int], ...] | None:
    """A casing a channel: as long as the channel and its end; None where they do not come to what was sealed.

    Of two bones in one channel the takeoff has two; how many stand in one is read off the sealed length.
    """
    if not takeoff.casing_mm:
        return ()
    end = defaults().casing_end_mm
    places = (BonePlace.SEAM, BonePlace.MID_PANEL)
    for stacked in product((1, 2), repeat=len(places)):
        counts = dict(zip(places, stacked, strict=True))
        pieces = tuple(
            (run.where, run.channel_mm + end, run.count // counts[run.place])
            for run in takeoff.bones
            if run.place in counts
        )
        if abs(sum(length * count for _, length, count in pieces) - takeoff.casing_mm) <= ALIKE_MM:
            return pieces
    return None


def _edges(takeoff: SealedTakeoff) -> tuple[tuple[str, float, int], ...]:
    """Top and bottom of each half with their turned ends; all in one where the halves are not alike."""
    top, bottom = (sum(getattr(panel, edge) for panel in takeoff.pattern.panels) for edge in ("top_mm", "bottom_mm"))
    end = (takeoff.binding_mm - 2 * (top + bottom)) / BINDING_ENDS
    if 0 <= end <= MOST_BINDING_END_MM:
        return (("top edge", top + 2 * end, 2), ("bottom edge", bottom + 2 * end, 2))
    return (("edges", takeoff.binding_mm, 1),)
