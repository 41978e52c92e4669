"""What the pieces of a garment, once told, come to: its closed waist, and what is doubtful about them."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

import shapely

from inventory.ground.findings import Finding, note, stop, stops, warn
from quotes.pattern.believable import waist_faults
from quotes.pattern.drawing import DrawnPanel, ReadOptions
from quotes.pattern.geometry import as_line, length_mm, ring_area_mm2
from quotes.pattern.sheet import Label, Stroke
from quotes.pattern.taking.closing import CLOSING_MM, Closed, diagonal
from quotes.pattern.taking.deciding import Decision
from quotes.pattern.taking.inner_marks import Marks
from quotes.pattern.taking.nesting import shapes_of
from quotes.pattern.taking.pieces import Piece
from quotes.pattern.taking.scale import Scale
from quotes.pattern.taking.seam_order import Measured
from quotes.pattern.taking.taken import Role
from quotes.pattern.taking.words import PLAIN, said

__all__ = [
    "Allowance",
    "allowance_faults",
    "closed_waist",
    "fold_faults",
    "gap_notes",
    "join_faults",
    "numbers_in_the_open",
    "open_outlines",
    "size_faults",
    "told_allowance",
]

_OFF_MM, _OFF_SHARE = 1.0, 0.1
"""Two lines lie a stated allowance apart within this."""
_COMPARABLE_SHARE = 0.3
"""An open line that would enclose this share of the usual piece was meant to be one."""
_NOTED_GAP_MM = 0.5
_CUT_LINE = re.compile(r"\W*(?:the\s+|these\s+are\s+(?:the\s+)?)?cut(?:ting)?[\s-]?lines?\W*", re.IGNORECASE)
"""Words that say of single outlines, where nothing speaks of stitching, that they are cut lines."""
_EDGE_SHARE = 0.15
"""An edge of a panel is at least this share of the usual piece's diagonal: the top of a narrow one."""
_SIDES = 3
"""Of a panel that lacks one edge so many stand round its number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """What words say of the seam allowance.

    Attributes:
        mm: how much; None for nothing, or for several amounts.
        holds: whether single outlines hold it, so that they are cut lines; None where the words leave that open.
    """

    mm: float | None = None
    holds: bool | None = None
    findings: tuple[Finding, ...] = ()


def told_allowance(labels: Sequence[Label], options: ReadOptions) -> Allowance:
    """Return what the words of a drawing say of its allowance, and what the maker says where they leave something open."""
    words = [said(label.text) for label in labels]
    amounts = sorted({one.allowance_mm for one in words if one.allowance_mm is not None})
    holding = {one.allowance_in for one in words if one.allowance_in is not None and (one.allowance_mm or not amounts)}
    holds = holding.pop() if len(holding) == 1 else None
    if len(amounts) > 1:
        told = " and ".join(f"{amount:g}" for amount in amounts)
        words_differ = f"The drawing says seam allowances of {told} mm; none of them is taken for all edges."
        return Allowance(holds=holds, findings=(warn("pattern.allowances-differ", "file", words_differ),))
    mm = amounts[0] if amounts else None
    if mm is not None and holds is None and options.seam_allowance_mm is not None:
        holds = True
    if mm is None and holds is None and not any(one.is_stitching for one in words):
        holds = True if any(_CUT_LINE.fullmatch(label.text) for label in labels) else None
    return Allowance(mm=mm, holds=holds)


def closed_waist(
    making: Sequence[int],
    decisions: Mapping[int, Decision],
    measure: Callable[[int], Measured | None],
    drawn: Mapping[int, DrawnPanel],
    allowance_mm: float | None,
) -> float | None:
    """Return the closed waist that pieces come to, in mm of the scale that `measure` takes; None where one cannot be told.

    `making` are those pieces that make the garment; `allowance_mm` lies on either side of those that only a cut line is
    drawn of.
    """
    total = 0.0
    for at in making:
        sides = measure(at)
        if sides is None:
            return None
        total += sides.waist_mm
        if drawn[at].stitching is None:
            total -= 2 * (allowance_mm or 0.0)
    is_whole = any(decisions[at].role is Role.OTHER_HALF for at in making)
    return (total if is_whole else 2 * total) if making and total > 0 else None


def open_outlines(lines: Sequence[Stroke], pieces: Sequence[Closed]) -> list[Finding]:
    """Return a stop for each line that was meant to be a piece's outline and does not close."""
    areas = sorted(ring_area_mm2(one.ring) for one in pieces)
    usual = areas[len(areas) // 2] if areas else 0.0
    shapes = shapes_of(pieces)
    found = []
    for line in lines:
        if len(line.line) < 4:
            continue
        ends = (line.line[0], line.line[-1])
        gap = ((ends[0][0] - ends[1][0]) ** 2 + (ends[0][1] - ends[1][1]) ** 2) ** 0.5
        (shape,) = shapes_of([Closed(ring=line.line, stroke=line)])
        if gap > 0.15 * length_mm(line.line) or shape.area < _COMPARABLE_SHARE * usual:
            continue
        if any(other.contains(shape) or shape.contains(other) for other in shapes):
            continue
        found.append(
            stop(
                "pattern.outline-open",
                line.where,
                f"This outline does not close: its ends lie {gap:.3g} units apart; up to {CLOSING_MM:g} mm are joined.",
                "Join the ends.",
            )
        )
    return found


def numbers_in_the_open(
    labels: Sequence[Label], lines: Sequence[Stroke], pieces: Sequence[Closed], numbers: Sequence[int]
) -> list[Finding]:
    """Return a stop for a label that numbers the panel after the last and stands between lines that close to nothing.

    `pieces` are the outlines of the garment's panels, `numbers` theirs. A panel missing before the last is told elsewhere.
    """
    if not pieces or not numbers:
        return []
    usual = median(diagonal(one.ring) for one in pieces)
    shapes = shapes_of(pieces)
    long_lines = [as_line(line.line) for line in lines if diagonal(line.line) >= _EDGE_SHARE * usual]
    outside = [
        line
        for line in long_lines
        if not any(shape.contains(line.interpolate(0.5, normalized=True)) for shape in shapes)
    ]
    for label in labels:
        words = said(label.text)
        if words.number != max(numbers) + 1 or words.sureness < PLAIN:
            continue
        (x, y), spot = label.at, shapely.Point(label.at)
        if any(shape.contains(spot) for shape in shapes):
            continue
        rays = [as_line([(x, y), (x + dx, y + dy)]) for dx, dy in ((usual, 0), (-usual, 0), (0, usual), (0, -usual))]
        if sum(any(ray.intersects(line) for line in outside) for ray in rays) >= _SIDES:
            return [
                stop(
                    "pattern.outline-open",
                    label.where,
                    f"The number {words.number} stands between lines that close to no outline.",
                    f"Join the lines of panel {words.number}, or take its number out.",
                )
            ]
    return []


def size_faults(
    scale: Scale, making: Sequence[int], decisions: Mapping[int, Decision], options: ReadOptions
) -> list[Finding]:
    """Return what is said of a waist that no garment has, unless the scale is open or contradicted already."""
    if stops(scale.findings) or not scale.readings or scale.readings[0].closed_waist_mm is None:
        return []
    return waist_faults(
        scale.readings[0].closed_waist_mm,
        scale.readings[0].mm_per_unit,
        panels_per_half=len({decisions[at].number for at in making}),
        units_told=options.units is not None,
    )


def fold_faults(making: Sequence[int], decisions: Mapping[int, Decision], marks: Mapping[int, Marks]) -> list[Finding]:
    """Return what is said of pieces on a fold: at an end of the half it is the middle of the garment, elsewhere a half panel."""
    found = []
    numbers = [number for at in making if (number := decisions[at].number) is not None]
    for at in making:
        number = decisions[at].number
        if not marks[at].on_fold or number is None:
            continue
        where = f"panel {number}"
        if number in (1, max(numbers)):
            end = "front" if number == 1 else "back"
            found.append(
                note(
                    "pattern.on-fold",
                    where,
                    f"Panel {number} lies to a fold; as drawn it is taken for one half's, with the fold at centre {end}.",
                )
            )
            continue
        found.append(
            stop(
                "pattern.on-fold",
                where,
                f"Panel {number} lies to a fold, so that only half of it is drawn.",
                "Draw it whole.",
            )
        )
    return found


def join_faults(
    making: Sequence[int], decisions: Mapping[int, Decision], inside: Mapping[int, Sequence[Label]]
) -> list[Finding]:
    """Return a warning for each panel whose words say that it is sewn to one that is not beside it.

    `inside` are the labels in each piece. Panels 1 and n may name themselves: at centre front and back the halves meet.
    """
    return [
        warn(
            "pattern.joins-another",
            f"panel {number}",
            f'Panel {number} says "{label.text.strip()[:40]}", and panel {joined} does not lie beside it.',
            "Check the numbers of both.",
        )
        for at in making
        for label in inside[at]
        if (number := decisions[at].number) is not None
        and (joined := said(label.text).joins) is not None
        and abs(joined - number) > 1
    ]


def gap_notes(
    making: Sequence[int],
    pieces: Sequence[Piece],
    closed: Sequence[Closed],
    decisions: Mapping[int, Decision],
    mm_per_unit: float,
) -> list[Finding]:
    """Return a note for each panel whose ends were joined over a gap worth telling."""
    return [
        note(
            "pattern.ends-joined",
            f"panel {decisions[at].number}",
            f"The ends of its outline lie {closed[pieces[at].main].gap * mm_per_unit:.1f} mm apart; they were joined.",
        )
        for at in making
        if closed[pieces[at].main].gap * mm_per_unit > _NOTED_GAP_MM
    ]


def allowance_faults(
    making: Sequence[int],
    pieces: Sequence[Piece],
    decisions: Mapping[int, Decision],
    allowance: Allowance,
    mm_per_unit: float,
) -> list[Finding]:
    """Return where words about the allowance do not fit the lines, or leave open whether single lines hold it."""
    single = [at for at in making if pieces[at].cut is None]
    found: list[Finding] = list(allowance.findings)
    if single and allowance.mm is not None and allowance.holds is None:
        found.append(
            stop(
                "pattern.allowance-in-or-out",
                "file",
                f"The drawing says a seam allowance of {allowance.mm:g} mm, but not whether its lines hold it.",
                f'Write "included" or "not included" beside it, or say --seam-allowance {allowance.mm:g} if they are cut lines.',
            )
        )
    for at in making:
        apart = pieces[at].allowance
        if apart is None or allowance.mm is None or pieces[at].stitching is None:
            continue
        off = abs(apart * mm_per_unit - allowance.mm)
        if off > max(_OFF_MM, _OFF_SHARE * allowance.mm):
            found.append(
                warn(
                    "pattern.allowance-as-drawn",
                    f"panel {decisions[at].number}",
                    f"Its cut line lies {apart * mm_per_unit:.1f} mm outside its stitching line; the words say {allowance.mm:g} mm.",
                    "The stitching line counts as drawn.",
                )
            )
    return found
