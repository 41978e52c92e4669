"""Every closed outline of a sheet with what it was taken for, in millimetres and in the order of the drawing."""

from collections.abc import Mapping, Sequence

from quotes.pattern.geometry import Point, Polyline
from quotes.pattern.taking.closing import Closed
from quotes.pattern.taking.deciding import Decision
from quotes.pattern.taking.inner_marks import Marks
from quotes.pattern.taking.pieces import Piece
from quotes.pattern.taking.taken import Role, TakenOutline
from quotes.pattern.taking.witnesses import Witness

__all__ = ["outlines_of", "scaled_line"]


def scaled_line(line: Sequence[Point], mm_per_unit: float) -> Polyline:
    """Return a line of the sheet in millimetres."""
    return tuple((x * mm_per_unit, y * mm_per_unit) for x, y in line)


def outlines_of(
    pieces: Sequence[Piece],
    decisions: Mapping[int, Decision],
    aside: Mapping[int, str],
    marks: Mapping[int, Marks],
    closed: Sequence[Closed],
    squares: Mapping[int, tuple[str, Witness | None]],
    frames: set[int],
    mm_per_unit: float,
) -> tuple[TakenOutline, ...]:
    """Return the outlines: those of pieces first, in the order in which `--panels` numbers them, then all others.

    `pieces` are in reading order; `decisions`, `aside` and `marks` go by their positions, `squares` and `frames` by the
    places of outlines in `closed`.
    """
    found: list[TakenOutline] = []
    index_of: dict[int, int] = {}

    def add(place: int, role: Role, why: str, decision: Decision | None = None, mark: Marks | None = None) -> None:
        index_of[place] = len(found) + 1
        waist = None if mark is None or mark.waist is None else scaled_line(mark.waist, mm_per_unit)
        grain = None if mark is None or mark.grain is None else scaled_line(mark.grain, mm_per_unit)
        found.append(
            TakenOutline(
                index=len(found) + 1,
                ring=scaled_line(closed[place].ring, mm_per_unit),
                role=role,
                why=why,
                panel=None if decision is None else decision.number,
                runner_up="" if decision is None else decision.runner_up,
                waist=waist,
                grain=None if grain is None else (grain[0], grain[1]),
                notches=() if mark is None else scaled_line(mark.notches, mm_per_unit),
                may_be_panel=mark is not None,
                is_panel=mark is not None and decision is not None and decision.is_drawn,
            )
        )

    for at, piece in enumerate(pieces):
        if at in decisions:
            one = decisions[at]
            role = Role.CUT_LINE if one.role is Role.PANEL and piece.stitching is None else one.role
            add(piece.main, role, one.why, one, marks[at])
    for at, piece in enumerate(pieces):
        if at in decisions and piece.stitching is not None and piece.cut is not None:
            add(piece.cut, Role.CUT_LINE, f"round the stitching line of outline {index_of[piece.main]}", decisions[at])
        elif at in aside:
            add(piece.main, Role.LEFT_OUT, aside[at])
    for place, (why, _) in squares.items():
        add(place, Role.TEST_SQUARE, why)
    for place in sorted(frames):
        add(place, Role.FRAME, "a line round several outlines")
    for place in range(len(closed)):
        if place not in index_of:
            add(place, Role.OTHER_SIZE, "another size of the same panel")
    return tuple(found)
