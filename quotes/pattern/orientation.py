"""Which way round was a panel drawn? Placing drawn points, and turning and mirroring whole panels."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from quotes.pattern.geometry import Point, Polyline, length_mm, mirrored
from quotes.pattern.panels import EdgeName, Notch, Panel

__all__ = ["Placement", "flipped_panel", "half_turned_panel", "mirrored_panel"]

_ACROSS = {EdgeName.FRONT: EdgeName.BACK, EdgeName.BACK: EdgeName.FRONT}
_OPPOSITE = {**_ACROSS, EdgeName.TOP: EdgeName.BOTTOM, EdgeName.BOTTOM: EdgeName.TOP}


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """How a drawn piece is laid so that its top lies up: quarter turns counter-clockwise, then mirrored in y if told."""

    quarter_turns: int = 0
    flipped: bool = False

    def line(self, points: Iterable[Point]) -> Polyline:
        """Return the points as placed, in the same order."""
        match self.quarter_turns % 4:
            case 1:
                placed = tuple((-y, x) for x, y in points)
            case 2:
                placed = tuple((-x, -y) for x, y in points)
            case 3:
                placed = tuple((y, -x) for x, y in points)
            case _:
                placed = tuple(points)
        return mirrored(placed) if self.flipped else placed

    def level(self, y_mm: float) -> float:
        """Return a height of the drawing as placed; heights are given for pieces that are drawn upright."""
        return -y_mm if self.quarter_turns % 4 == 2 else y_mm


def flipped_panel(panel: Panel) -> Panel:
    """Return the panel of the other half: mirrored, each edge keeping its name."""
    return replace(
        panel,
        front=mirrored(panel.front),
        back=mirrored(panel.back),
        top=mirrored(panel.top),
        bottom=mirrored(panel.bottom),
        grain_deg=(180.0 - panel.grain_deg) % 180.0,
        cut_line=None if panel.cut_line is None else tuple(reversed(mirrored(panel.cut_line))),
    )


def mirrored_panel(panel: Panel) -> Panel:
    """Return the panel seen in a mirror with its edges named anew: what was its front edge is its back edge."""
    seen = flipped_panel(panel)
    return replace(
        seen,
        front=seen.back,
        back=seen.front,
        top=tuple(reversed(seen.top)),
        bottom=tuple(reversed(seen.bottom)),
        notches=tuple(
            replace(notch, edge=_ACROSS[notch.edge]) if notch.edge in _ACROSS else _from_other_end(notch, panel)
            for notch in panel.notches
        ),
    )


def half_turned_panel(panel: Panel) -> Panel:
    """Return the panel turned upside down with its edges named anew."""
    turn = Placement(quarter_turns=2).line
    return replace(
        panel,
        front=tuple(reversed(turn(panel.back))),
        back=tuple(reversed(turn(panel.front))),
        top=tuple(reversed(turn(panel.bottom))),
        bottom=tuple(reversed(turn(panel.top))),
        waist_mm=-panel.waist_mm,
        notches=tuple(replace(_from_other_end(notch, panel), edge=_OPPOSITE[notch.edge]) for notch in panel.notches),
        cut_line=None if panel.cut_line is None else turn(panel.cut_line),
    )


def _from_other_end(notch: Notch, panel: Panel) -> Notch:
    return replace(notch, along_mm=length_mm(panel.edge(notch.edge)) - notch.along_mm)
