"""The cut list in words: by material and lot, what is cut in which order, what stays, what goes back, what is missing."""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.ground.measures import quantity_text
from inventory.ground.units import LengthUnit, format_length
from inventory.models import Lot
from inventory.reckoning.crumbs import Kept, Rest, is_crumb
from studio.bench.cut_listing import CutList
from studio.bench.material_page import STEEL, length_unit
from studio.cutting.cut_list import CutLot, MaterialCuts, Pieces, Share
from studio.cutting.wanted import TENTHS
from studio.models import Job

__all__ = ["CutPage", "CutRow", "LotBlock", "MaterialBlock", "cut_page", "length_words"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutRow:
    """A line to tick: how many of which length, and where they go."""

    what: str
    whose: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LotBlock:
    """A lot with its place, what is made of it, and what becomes of the rest."""

    lot: Lot
    what: str
    place: str
    there: str
    how: str
    rows: list[CutRow]
    after: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialBlock:
    """A material; `missing` are sentences, `kept_elsewhere` is one where more lies there, `is_proven` that no other way
    uses up less.
    """

    name: str
    lots: list[LotBlock]
    missing: list[str]
    kept_elsewhere: str
    is_proven: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPage:
    """All of it. `saves` is empty where one job is cut alone."""

    jobs: list[Job]
    materials: list[MaterialBlock]
    notes: list[str]
    saves: str
    cuts_steel: bool
    can_be_booked: bool


def cut_page(found: CutList) -> CutPage:
    """Return a cut list in words; lengths in the unit of the quotes where they agree, else in mm."""
    units = {length_unit(job) for job in found.jobs}
    unit = units.pop() if len(units) == 1 else LengthUnit.MM
    return CutPage(
        jobs=list(found.jobs),
        materials=[_material(cuts, found, unit) for cuts in found.lists],
        notes=list(found.notes),
        saves=_saves(found) if len(found.jobs) > 1 else "",
        can_be_booked=bool(found.jobs) and all(job.is_open for job in found.jobs),
        cuts_steel=any(
            found.lots[lot.lot].item.material.kind in STEEL and not lot.is_as_it_is
            for cuts in found.lists
            for lot in cuts.lots
        ),
    )


def length_words(tenths: int, unit: LengthUnit) -> str:
    """Return a length as it is cut: inches to the eighth, else mm to the tenth.

    >>> length_words(2413, LengthUnit.MM), length_words(2413, LengthUnit.INCH)
    ('241.3 mm', '9 1/2 in')
    """
    if unit is LengthUnit.INCH:
        return format_length(tenths / TENTHS, unit)
    return f"{tenths / TENTHS:g} mm"


def _material(cuts: MaterialCuts, found: CutList, unit: LengthUnit) -> MaterialBlock:
    is_alone = len(found.jobs) == 1
    return MaterialBlock(
        name=found.materials[cuts.material].name,
        lots=[_lot(lot, found.lots[lot.lot], unit, is_alone=is_alone) for lot in cuts.lots],
        missing=[f"{row.words.removesuffix('.')} ({_whose(row.shares, is_alone)})." for row in cuts.missing],
        kept_elsewhere="More of it lies there, kept for other accepted work."
        if cuts.missing and cuts.material in found.kept_elsewhere
        else "",
        is_proven=cuts.is_optimal,
    )


def _lot(cut: CutLot, lot: Lot, unit: LengthUnit, *, is_alone: bool) -> LotBlock:
    return LotBlock(
        lot=lot,
        what=str(lot.item),
        place=lot.place or lot.item.place,
        there=quantity_text(lot.on_hand, lot.item.unit),
        how=_how(cut),
        rows=[_row(piece, unit, is_alone=is_alone) for piece in cut.pieces],
        after=_after(cut, lot, unit),
    )


def _how(cut: CutLot) -> str:
    if cut.is_roll:
        return ""
    if cut.is_as_it_is:
        return f"Take {cut.times} as they are" if cut.times > 1 else "Take one as it is"
    return f"Cut {cut.times} bones alike" if cut.times > 1 else "Cut one bone"


def _row(piece: Pieces, unit: LengthUnit, *, is_alone: bool) -> CutRow:
    return CutRow(what=f"{piece.count} × {length_words(piece.length, unit)}", whose=_whose(piece.shares, is_alone))


def _whose(shares: Sequence[Share], is_alone: bool) -> str:
    """Where pieces go, job by job where there are several; how many of them, where it is not all."""
    if is_alone:
        return _places(shares, is_all=True)
    jobs = dict.fromkeys(share.job for share in shares)
    return "; ".join(
        f"{job}: {_places([share for share in shares if share.job == job], is_all=len(jobs) == 1)}" for job in jobs
    )


def _places(shares: Sequence[Share], *, is_all: bool) -> str:
    if is_all and len(shares) == 1:
        return shares[0].where
    return ", ".join(f"{share.where} ({share.count})" for share in shares)


def _after(cut: CutLot, lot: Lot, unit: LengthUnit) -> str:
    """What becomes of the rest."""
    if cut.is_as_it_is:
        return ""
    if cut.is_roll:
        left = lot.on_hand - -(-cut.used // TENTHS)
        if not left:
            return "Nothing stays on it."
        rest = Rest(kind=lot.item.kind_by_length, length_mm=left)
        is_short = is_crumb(rest, kept=Kept(width_mm=0, length_mm=0))
        return f"{quantity_text(left, lot.item.unit)} stay on it{', too short for anything' if is_short else ''}."
    if not cut.rest:
        return "Nothing is left."
    what = f"{cut.times} × {length_words(cut.rest, unit)}" if cut.times > 1 else length_words(cut.rest, unit)
    return f"Put back: {what}." if cut.goes_back else f"Waste: {what}."


def _saves(found: CutList) -> str:
    """What cutting together comes to against one job after another; where that would leave more missing, lengths tell
    nothing."""
    together, apart = found.together, found.apart
    if more := apart.missing - together.missing:
        pieces = "piece" if abs(more) == 1 else "pieces"
        return f"Cut one job after another, {abs(more)} {pieces} {'more' if more > 0 else 'less'} would be missing."
    waste, off_rolls = ((getattr(apart, of) - getattr(together, of)) / TENTHS for of in ("wasted", "off_rolls"))
    bones = apart.bones - together.bones
    return (
        f"Against one job after another this saves {waste:g} mm of waste, {off_rolls:g} mm off coils and rolls, "
        f"and {bones} {'bone' if bones == 1 else 'bones'} from the drawer."
    )
