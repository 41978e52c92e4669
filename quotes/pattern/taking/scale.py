"""How long is the drawing's unit: what the file says, what the maker says, what is witness of it on the drawing?"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from inventory.ground.findings import Finding, Severity, note, stop, warn
from quotes.defaults import desk_defaults
from quotes.pattern.believable import MM_PER_UNIT, UNIT_WORDS, is_believable_waist
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.sheet import Sheet
from quotes.pattern.taking.taken import ScaleReading
from quotes.pattern.taking.witnesses import StatedWaist, Witness
from quotes.pattern.taking.words import said as said_by

__all__ = ["NOT_AT_FULL_SIZE", "Scale", "read_scale"]

NOT_AT_FULL_SIZE = "file.not-at-full-size"
"""The code of what is found of a drawing whose words say that it is drawn smaller or larger than its pieces are."""

_BARE_RATIO = re.compile(r"\d{1,2}\s?:\s?\d{1,2}")
AGREE_SHARE = 0.01
"""A witness within this of a unit speaks for it; common practice, no source: half a millimetre on a square of 5 cm."""
LEAST_OF_STATED, MOST_OF_STATED = 0.78, 1.03
"""A closed waist is this share of a waist stated in words, which may be the body's or the worn one: 10 % taken in and a
lacing gap of 50 to 75 mm, on a waist of 550 mm or more."""
PAPERS_MM = {
    "A0": (841.0, 1189.0),
    "A1": (594.0, 841.0),
    "A2": (420.0, 594.0),
    "A3": (297.0, 420.0),
    "A4": (210.0, 297.0),
    "Letter": (215.9, 279.4),
    "Legal": (215.9, 355.6),
    "Tabloid": (279.4, 431.8),
}
"""Source: ISO 216; ANSI/ASME Y14.1 and common trade sizes, in inches 8 1/2 x 11, 8 1/2 x 14, 11 x 17."""
_PAPER_MM = 0.3
"""Programs round a page's sides to whole points or pixels."""
CLOSED_SHARE = 0.03
"""A stated closed waist agrees within this share."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """The readings, the likeliest first, and what was found; a stop among the findings where a maker has to say."""

    readings: tuple[ScaleReading, ...]
    findings: tuple[Finding, ...] = ()


def read_scale(
    sheet: Sheet,
    options: ReadOptions,
    witnesses: Sequence[Witness],
    stated: Sequence[StatedWaist],
    waist_units: float | None,
) -> Scale:
    """Return how the sheet's unit is to be read; `waist_units` is the closed waist in that unit, where it can be told."""
    said = _said(sheet, options)
    findings: list[Finding] = []
    if options.units is not None and said is not None and _is_overruled(said, sheet.mm_per_unit):
        findings.append(
            warn(
                "file.units-overruled",
                "file",
                f"The file says {_unit_words(sheet)}, --units says {options.units}; {options.units} is taken.",
                "Leave --units out if the file is right.",
            )
        )
    contradicting = _contradicting(witnesses)
    if contradicting:
        findings.append(contradicting)
    elif said is not None:
        said, by_words = _drawn_at(sheet, said, witnesses)
        if by_words is not None and by_words.severity is Severity.STOP:
            return Scale(readings=_readings(said, witnesses, stated, waist_units), findings=(*findings, by_words))
        findings += [by_words] if by_words else []
    readings = _readings(said, witnesses, stated, waist_units)
    if said is None:
        findings += _unsaid(readings, witnesses, stated, waist_units)
        return Scale(readings=readings, findings=tuple(findings))
    for witness in witnesses:
        if not _agree(witness.mm_per_unit, said.mm_per_unit):
            findings.append(_contradicted(witness, said, waist_units, is_told=options.units is not None))
            break
    else:
        by_waist = _waist_contradicted(stated, said, waist_units)
        is_open = options.units is None and not witnesses and not (stated and waist_units)
        findings += by_waist or (_page_contradicted(sheet, said, waist_units) if is_open else [])
    return Scale(readings=readings, findings=tuple(findings))


def _is_overruled(said: ScaleReading, mm_per_unit: float | None) -> bool:
    return mm_per_unit is not None and not _agree(said.mm_per_unit, mm_per_unit)


def _said(sheet: Sheet, options: ReadOptions) -> ScaleReading | None:
    if options.units is not None:
        return ScaleReading(
            mm_per_unit=MM_PER_UNIT[options.units], words=f"{UNIT_WORDS[options.units]}, as --units says"
        )
    if sheet.mm_per_unit is None:
        return None
    return ScaleReading(mm_per_unit=sheet.mm_per_unit, words=f"as the file says, {_unit_words(sheet)}")


def _drawn_at(sheet: Sheet, said: ScaleReading, witnesses: Sequence[Witness]) -> tuple[ScaleReading, Finding | None]:
    """The reading by a scale in words, with what is told of it: taken where squares and bars bear it out, else a stop.

    `witnesses` agree with each other.
    """
    words_of = [
        (share, label.text.strip()[:40]) for label in sheet.labels if (share := said_by(label.text).drawn_share)
    ]
    ratios = {words for _, words in words_of if _BARE_RATIO.fullmatch(words)}
    if len(ratios) > 1 or (witnesses and _agree(witnesses[0].mm_per_unit, said.mm_per_unit)):
        # Numbers of tiles by row and column, or of a small plan beside pieces whose square is true.
        words_of = [(share, words) for share, words in words_of if words not in ratios]
    told = dict(words_of)
    if set(told) <= {1.0}:
        return said, None
    for share, words in told.items():
        mm_per_unit = said.mm_per_unit / share
        if witnesses and _agree(witnesses[0].mm_per_unit, mm_per_unit):
            if share == 1.0:
                return said, None
            taken = replace(said, mm_per_unit=mm_per_unit, words=f'{said.words}, drawn at "{words}"')
            return taken, note(
                NOT_AT_FULL_SIZE,
                "file",
                f'The drawing says "{words}", and {witnesses[0].words} bears it out; every length is taken {1 / share:.4g} times.',
            )
    words = next(words for share, words in told.items() if share != 1.0)
    if witnesses:
        return said, stop(
            NOT_AT_FULL_SIZE,
            "file",
            f'The drawing says "{words}", yet {witnesses[0].words} has not that scale.',
            "Mend the one that is wrong, or save the drawing at its full size without those words.",
        )
    return said, stop(
        NOT_AT_FULL_SIZE,
        "file",
        f'The drawing says "{words}", and no test square on it bears that out.',
        "Save it at its full size without those words, or draw a square at that scale with its true length written at it.",
    )


def _unit_words(sheet: Sheet) -> str:
    assert sheet.mm_per_unit is not None
    scale = f"1 unit = {sheet.mm_per_unit:.4g} mm"
    return f"{sheet.unit_said}, {scale}" if sheet.unit_said else scale


def _readings(
    said: ScaleReading | None,
    witnesses: Sequence[Witness],
    stated: Sequence[StatedWaist],
    waist_units: float | None,
) -> tuple[ScaleReading, ...]:
    """What the file or the maker says, what witnesses say, then every other unit that makes the waist believable."""
    found = [] if said is None else [said]
    for witness in witnesses:
        unit = _unit_of(witness.mm_per_unit)
        scale = MM_PER_UNIT[unit] if unit else witness.mm_per_unit
        found.append(ScaleReading(mm_per_unit=scale, words=_as_unit(unit, scale), witness=witness.words))
    if waist_units is not None:
        for unit, scale in MM_PER_UNIT.items():
            waist = waist_units * scale
            speaking = next((one.words for one in stated if _fits(one, waist)), "")
            if is_believable_waist(waist):
                found.append(
                    ScaleReading(mm_per_unit=scale, words=_as_unit(unit, scale), witness=speaking and f'"{speaking}"')
                )
    kept: list[ScaleReading] = []
    for reading in found:
        same = next((place for place, one in enumerate(kept) if _agree(one.mm_per_unit, reading.mm_per_unit)), None)
        if same is None:
            kept.append(reading)
        elif reading.witness and not kept[same].witness:
            first = kept[same]
            kept[same] = ScaleReading(mm_per_unit=first.mm_per_unit, words=first.words, witness=reading.witness)
    return tuple(
        ScaleReading(
            mm_per_unit=one.mm_per_unit,
            words=one.words,
            closed_waist_mm=None if waist_units is None else waist_units * one.mm_per_unit,
            witness=one.witness,
        )
        for one in kept
    )


def _unsaid(
    readings: Sequence[ScaleReading],
    witnesses: Sequence[Witness],
    stated: Sequence[StatedWaist],
    waist_units: float | None,
) -> list[Finding]:
    """The file says nothing: a witness is taken, and told; else the maker is asked."""
    if witnesses:
        waist = None if waist_units is None else waist_units * readings[0].mm_per_unit
        found: list[Finding] = [
            note(
                "file.units-by-witness",
                "file",
                f"The drawing says no units; by {witnesses[0].words} one of them is {readings[0].mm_per_unit:.4g} mm.",
            )
        ]
        return [*found, *_waist_contradicted(stated, readings[0], waist_units if waist is not None else None)]
    if not readings or waist_units is None:
        return [stop("file.no-units", "file", "The drawing says no units.", "Say --units mm, cm, in, pt or px.")]
    by_words = [one for one in readings if one.witness]
    usual = desk_defaults().pattern.usual_closed_waist_mm
    likely = min(by_words or readings, key=lambda one: abs(math.log((one.closed_waist_mm or usual) / usual)))
    unit = _unit_of(likely.mm_per_unit) or "mm"
    return [
        stop(
            "file.no-units",
            "file",
            f"The drawing says no units; read as {UNIT_WORDS[unit]} its closed waist would be "
            f"{(likely.closed_waist_mm or 0) / 10:.4g} cm, which is the likeliest.",
            f"Say --units {unit}, or another if that is wrong.",
        )
    ]


def _contradicted(witness: Witness, said: ScaleReading, waist_units: float | None, *, is_told: bool) -> Finding:
    share = said.mm_per_unit / witness.mm_per_unit
    unit = _unit_of(witness.mm_per_unit)
    waist = (
        ""
        if waist_units is None
        else f", and the closed waist {waist_units * said.mm_per_unit / 10:.4g} cm instead of "
        f"{waist_units * witness.mm_per_unit / 10:.4g} cm"
    )
    return stop(
        "file.units-contradict",
        "file",
        f"The units contradict each other: {said.words}, {witness.words} would be {share:.4g} times its marked length{waist}.",
        f"Say --units {unit}: the likelier reading is {UNIT_WORDS[unit]}."
        if unit and not is_told
        else f"Say --units {unit} instead."
        if unit
        else "Save the drawing at its true size, or mend the mark.",
    )


def _contradicting(witnesses: Sequence[Witness]) -> Finding | None:
    for other in witnesses[1:]:
        if not _agree(other.mm_per_unit, witnesses[0].mm_per_unit):
            return stop(
                "file.witnesses-contradict",
                "file",
                f"{witnesses[0].words.capitalize()} makes a unit {witnesses[0].mm_per_unit:.4g} mm, {other.words} "
                f"{other.mm_per_unit:.4g} mm.",
                "Keep the one that is right.",
            )
    return None


def _waist_contradicted(stated: Sequence[StatedWaist], said: ScaleReading, waist_units: float | None) -> list[Finding]:
    if waist_units is None or not stated:
        return []
    waist = waist_units * said.mm_per_unit
    if any(_fits(one, waist) for one in stated):
        return []
    likelier = next(
        (unit for unit, scale in MM_PER_UNIT.items() if any(_fits(one, waist_units * scale) for one in stated)),
        None,
    )
    hint = "Check the units and the words."
    if likelier is not None:
        hint = (
            f"Say --units {likelier}: read as {UNIT_WORDS[likelier]} it would be "
            f"{waist_units * MM_PER_UNIT[likelier] / 10:.4g} cm, which is likelier."
        )
    return [
        stop(
            "file.units-contradict",
            "file",
            f"The units contradict the words: {said.words}, the closed waist would be {waist / 10:.4g} cm, yet the drawing "
            f'says "{stated[0].words}".',
            hint,
        )
    ]


def _page_contradicted(sheet: Sheet, said: ScaleReading, waist_units: float | None) -> list[Finding]:
    """A page that is a paper's to the point in another unit, and none in the one that the file says."""
    if sheet.page is None or waist_units is None or _paper(sheet.page, said.mm_per_unit):
        return []
    for unit, scale in MM_PER_UNIT.items():
        paper = _paper(sheet.page, scale)
        if paper and is_believable_waist(waist_units * scale):
            return [
                stop(
                    "file.units-contradict",
                    "file",
                    f"The page contradicts the units: {said.words}, it is no common paper and the closed waist would be "
                    f"{waist_units * said.mm_per_unit / 10:.4g} cm; read as {UNIT_WORDS[unit]} it is {paper} and the waist "
                    f"{waist_units * scale / 10:.4g} cm.",
                    f"Say --units {unit}, or the other if the file is right.",
                )
            ]
    return []


def _paper(page: tuple[float, float], mm_per_unit: float) -> str | None:
    short, long = sorted(side * mm_per_unit for side in page)
    return next(
        (name for name, (x, y) in PAPERS_MM.items() if abs(short - x) <= _PAPER_MM and abs(long - y) <= _PAPER_MM), None
    )


def _fits(stated: StatedWaist, closed_waist_mm: float) -> bool:
    share = closed_waist_mm / stated.waist_mm
    if stated.is_closed:
        return abs(share - 1) <= CLOSED_SHARE
    return LEAST_OF_STATED <= share <= MOST_OF_STATED


def _agree(one: float, other: float) -> bool:
    return abs(one / other - 1) <= AGREE_SHARE


def _unit_of(mm_per_unit: float) -> str | None:
    return next((unit for unit, scale in MM_PER_UNIT.items() if _agree(scale, mm_per_unit)), None)


def _as_unit(unit: str | None, scale: float) -> str:
    return f"read as {UNIT_WORDS[unit]}" if unit else f"1 unit = {scale:.4g} mm"
