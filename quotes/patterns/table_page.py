"""The pattern table in words: what lies on it, what was taken for what, how the seams true, and what has to be said."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.forms import BoundField

from inventory.ground.findings import Finding, Severity, stops
from inventory.ground.units import MM_PER_UNIT, LengthUnit, format_length
from quotes.drawings.pattern_table import outline_words, table_drawing
from quotes.drawings.picking import panels_to_pick, picking_drawing
from quotes.drawings.piece import piece_drawing
from quotes.drawings.unrolled import unrolled_drawing
from quotes.pattern.panels import Panel, Pattern
from quotes.pattern.table.look import Look, number_of, waist_range_mm
from quotes.pattern.taking.taken import Role, TakenOutline
from quotes.pattern.truing import SEAM_TOLERANCE_MM, is_off, seams
from quotes.pattern.unrolled import Unrolled, unrolled_seams
from quotes.patterns.table_forms import SaidForm
from quotes.patterns.table_photographs import PhotoRow, photographs_on_table
from quotes.photograph.shown import ShownPhoto

__all__ = ["TablePage", "table_page"]

_FOUND_MM = 0.5
"""Less than this is not worth a word on where along a seam it arises."""
_WAIST_MISSING = "pattern.waist-missing"
_LINE_OPEN = "pattern.allowance-in-or-out"
_UNITS = "Choose below how large it is."
_HERE = {
    _LINE_OPEN: "Say under “Which line is drawn” whether the outlines are the stitching line or hold it.",
    "pattern.numbered-by-order": "Number the pieces otherwise if they are others.",
    "pattern.panels-without-number": "Press “These numbers are right”, or number the pieces otherwise.",
    "pattern.number-ambiguous": "Choose its number below.",
    "pattern.several-sizes": "Choose one under “Size”.",
    "pattern.unknown-size": "Choose one under “Size”.",
    "file.no-units": _UNITS,
    "file.units-contradict": _UNITS,
    "file.units-by-witness": "Choose below if it is another.",
    "file.units-overruled": "",
    "pattern.cut-line-without-allowance": "Say it under “Which line is drawn”.",
    "pattern.corners-ambiguous": "Press its four corners below, at the piece.",
    "pattern.looks-like-other-units": _UNITS,
    "pattern.waist-unbelievable": "Choose below how large it is, or look whether every panel of the half is there.",
    "pattern.centre-front-assumed": "Say it under “Centre front” if it lies to the right.",
    "pattern.drawn-mirrored": "Say it under “Centre front” if it lies to the left.",
    "pattern.centre-front-unclear": "Say it under “Centre front”.",
    _WAIST_MISSING: "Move it below, at the piece, if it lies elsewhere.",
    "pattern.no-panels": "Press the outlines that are panels, from centre front.",
    "pattern.panel-without-number": "Press it, or choose its number below.",
    "pattern.panel-missing": "Press the outlines that are panels, 1 to n without a gap.",
}
"""What mends a finding on this page, in place of what mends it on the command line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleRow:
    """A way to read the unit: its words in short and in full, the closed waist that it makes, what speaks for it."""

    choice: object
    words: str
    more: str
    waist: str
    witness: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceRow:
    """One outline: what it was taken for and why, its fields, and its drawing where it is a panel that can be told.

    The other half of a panel that is drawn twice is no piece of its own. `low` and `high` are millimetres between which its waist can lie; `facts` its lengths in words, `plus_minus` how far the outline may be off, where it was measured in a photograph.
    """

    index: int
    number: int
    is_piece: bool
    what: str
    runner_up: str
    number_field: BoundField | None
    waist_field: BoundField | None = None
    low: float = 0.0
    high: float = 0.0
    waist_mm: float = 0.0
    facts: str = ""
    plus_minus: str = ""
    drawing: str = ""
    picking: str = ""
    must_pick: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SeamRow:
    """A seam unrolled, with its difference in words and the tick that it is meant, which is asked where there is one."""

    number: int
    following: int
    difference: str
    arises: str
    is_off: bool
    asks_ease: bool
    drawing: str
    ease: object


@dataclass(frozen=True, slots=True, kw_only=True)
class TablePage:
    """What the page shows, as text.

    `pieces` are panels in order of number, `others` what was left out and can be numbered, `aside` what
    cannot; `in_the_way` is what has to be said before it can be kept; `common` is why all pieces have their numbers, where
    it is the same for each.
    """

    closed_waist: str
    panels: int
    drawing: str
    photographs: list[PhotoRow]
    findings: list[Finding]
    can_keep: bool
    in_the_way: list[str]
    scales: list[ScaleRow]
    pieces: list[PieceRow]
    common: str
    others: list[PieceRow]
    aside: list[str]
    left_out: int
    seams: list[SeamRow]
    shows_one_line: bool
    asks_line: bool
    asks_numbers: bool
    mm_per_unit: float

    @property
    def to_say(self) -> int:
        """How many things stand in the way."""
        return len(self.in_the_way)


def table_page(
    look: Look, form: SaidForm, *, unit: LengthUnit, photographs: Sequence[tuple[int, ShownPhoto]] = ()
) -> TablePage:
    """Return the page of one look; `form` is what can be said of it, `photographs` what it was read in, by their pictures."""
    outlines = look.taken.outlines
    photos = photographs_on_table(
        photographs,
        rings={outline.index: outline.ring for outline in outlines},
        numbers={outline.index: number_of(outline) for outline in outlines},
    )
    rows = [
        replace(_piece(outline, look, form, unit), plus_minus=photos.plus_minus.get(outline.index, ""))
        for outline in outlines
    ]
    pieces, common = _without_common(sorted((row for row in rows if row.is_piece), key=lambda row: row.number))
    findings = _told(look.findings)
    waist = look.pattern.closed_waist_mm if look.pattern else _waist_of_scale(look)
    return TablePage(
        closed_waist="" if waist is None else format_length(waist, unit),
        panels=look.pattern.panels_per_half if look.pattern else sum(1 for row in rows if row.number),
        drawing=table_drawing(outlines, unit=unit),
        photographs=photos.rows,
        findings=findings,
        can_keep=look.pattern is not None and not look.stops,
        in_the_way=[f"{found.message} {found.hint}".strip() for found in stops(findings)],
        scales=_scales(look, form, unit),
        pieces=pieces,
        common=common,
        others=[row for row in rows if not row.is_piece and row.number_field is not None],
        aside=[
            f"{count} outlines: {what}" if count > 1 else what
            for what, count in Counter(row.what for row in rows if row.number_field is None).items()
        ],
        left_out=sum(1 for row in rows if not row.is_piece),
        seams=_seams(look.pattern, form) if look.pattern else [],
        shows_one_line=look.shows_one_line,
        asks_line=look.is_cut_line or any(found.code == _LINE_OPEN for found in look.stops),
        asks_numbers=look.is_asked,
        mm_per_unit=float(MM_PER_UNIT[unit]),
    )


def _waist_of_scale(look: Look) -> float | None:
    return next((scale.closed_waist_mm for scale in look.scales if scale.mm_per_unit == look.mm_per_unit), None)


def _weight(found: Finding) -> int:
    return list(Severity).index(found.severity)


def _told(findings: Sequence[Finding]) -> list[Finding]:
    """The findings, what stops first, with what mends them here; what holds for several panels alike is said once."""
    alike: dict[tuple[str, ...], list[Finding]] = {}
    for found in sorted(findings, key=_weight):
        words = "" if found.code == _WAIST_MISSING else found.message
        alike.setdefault((found.code, found.severity, words), []).append(found)
    told = []
    for several in alike.values():
        found = several[0]
        if len(several) > 1:
            places = ", ".join(found.where.removeprefix("panel ") for found in several)
            of_panels = all(found.where.startswith("panel ") for found in several)
            found = replace(found, where=f"panels {places}" if of_panels else places)
            if found.code == _WAIST_MISSING:
                found = replace(found, message="No waist is marked on them; the narrowest level of each is taken.")
        told.append(replace(found, hint=_HERE.get(found.code, _spoken(found.hint))))
    return told


def _spoken(hint: str) -> str:
    """A hint without what helps on the command line only."""
    return "" if " --" in hint else hint


def _without_common(pieces: Sequence[PieceRow]) -> tuple[list[PieceRow], str]:
    """The pieces without what is said of each of them alike, and that said once."""
    reasons, others = {piece.what for piece in pieces}, {piece.runner_up.partition(", ")[2] for piece in pieces}
    if len(pieces) < 2 or len(reasons) > 1:
        return list(pieces), ""
    common = f"All of them: {reasons.pop()}"
    if len(others) == 1 and (other := others.pop()):
        common = f"{common}. They could be others, {other}"
        return [replace(one, what="", runner_up=one.runner_up.partition(", ")[0]) for one in pieces], f"{common}."
    return [replace(one, what="") for one in pieces], f"{common}."


def _scales(look: Look, form: SaidForm, unit: LengthUnit) -> list[ScaleRow]:
    if "scale" not in form.fields:
        return []
    rows = []
    for scale, choice in zip(look.scales, form["scale"], strict=True):
        waist = scale.closed_waist_mm
        if look.pattern is not None:
            waist = look.pattern.closed_waist_mm * scale.mm_per_unit / look.mm_per_unit
        short, _, more = scale.words.partition(", ")
        waist_words = "" if waist is None else f"closed waist {format_length(waist, unit)}"
        rows.append(ScaleRow(choice=choice, words=short, more=more, waist=waist_words, witness=scale.witness))
    return rows


def _piece(outline: TakenOutline, look: Look, form: SaidForm, unit: LengthUnit) -> PieceRow:
    number = number_of(outline)
    row = PieceRow(
        index=outline.index,
        number=number,
        is_piece=bool(number) and outline.role is not Role.OTHER_HALF,
        what=_by_you(outline.why if outline.role is Role.PANEL else outline_words(outline)),
        runner_up="" if outline.runner_up.startswith(f"panel {number},") else outline.runner_up,
        number_field=form[f"number_{outline.index}"] if outline.may_be_panel else None,
    )
    if not row.is_piece:
        return row
    drawn = look.drawn(number)
    if drawn is not None and panels_to_pick([drawn]):
        must_pick = any(
            found.code == "pattern.corners-ambiguous" and found.where == drawn.where for found in look.stops
        )
        row = replace(row, picking=picking_drawing(drawn), must_pick=must_pick)
    panel = look.panel(number)
    if panel is None:
        return row
    low, high = waist_range_mm(panel)
    return replace(
        row,
        waist_field=form[f"waist_{outline.index}"],
        low=low,
        high=high,
        waist_mm=panel.waist_mm - panel.bounds[0][1],
        facts=f"waist {format_length(panel.waist_width_mm, unit)}, {format_length(_height(panel), unit)} high",
        drawing=piece_drawing(panel, height_mm=max(map(_height, look.pattern.panels if look.pattern else [panel]))),
    )


def _by_you(words: str) -> str:
    return words.replace("by --panels", "by you")


def _height(panel: Panel) -> float:
    (_, bottom), (_, top) = panel.bounds
    return top - bottom


def _seams(pattern: Pattern, form: SaidForm) -> list[SeamRow]:
    ticks: Sequence[object] = list(form["ease"])
    return [
        SeamRow(
            number=seam.number,
            following=seam.number + 1,
            difference=_signed(seam.difference_mm),
            arises=_arises(unrolled, seam.waist_offset_mm),
            is_off=is_off(seam) and seam.number not in pattern.ease,
            asks_ease=is_off(seam) or seam.number in pattern.ease,
            drawing=unrolled_drawing(unrolled),
            ease=tick,
        )
        for seam, unrolled, tick in zip(seams(pattern.panels), unrolled_seams(pattern.panels), ticks, strict=True)
    ]


def _signed(length_mm: float) -> str:
    """Millimetres with their sign; what rounds to nothing has none."""
    rounded = round(length_mm, 1)
    return f"{rounded:+.1f} mm" if rounded else "0.0 mm"


def _arises(seam: Unrolled, waist_offset_mm: float) -> str:
    """Where along a seam its difference arises, in words; empty where there is hardly any."""
    if abs(seam.difference_mm) < abs(waist_offset_mm) > SEAM_TOLERANCE_MM:
        return f"Sewn from the bottom up, the waists miss each other by {abs(waist_offset_mm):.1f} mm."
    part = seam.arises
    if abs(part.growth_mm) < _FOUND_MM:
        return ""
    low, high = sorted((abs(part.low_mm), abs(part.high_mm)))
    longer = seam.number if part.growth_mm > 0 else seam.number + 1
    side = "above" if part.high_mm > 0 else "below"
    if part.low_mm == part.high_mm:
        end = "top" if part.high_mm > 0 else "bottom"
        return f"Panel {longer} runs {abs(part.growth_mm):.1f} mm farther at the {end} end."
    return f"Panel {longer} runs {abs(part.growth_mm):.1f} mm longer from {low:.0f} to {high:.0f} mm {side} the waist."
