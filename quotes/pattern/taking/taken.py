"""What the lines of a sheet were taken for, each with why, and the drawing that this comes to."""

from dataclasses import dataclass
from enum import StrEnum

from inventory.ground.findings import Finding
from quotes.pattern.drawing import Drawing
from quotes.pattern.geometry import Point, Polyline

__all__ = ["Role", "ScaleReading", "Taken", "TakenOutline"]


class Role(StrEnum):
    """What a closed outline is."""

    PANEL = "panel"
    CUT_LINE = "cut line"
    TEST_SQUARE = "test square"
    FRAME = "frame"
    OTHER_SIZE = "other size"
    OTHER_HALF = "other half"
    LEFT_OUT = "left out"


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOutline:
    """A closed outline of the sheet, in millimetres by the chosen scale, y upwards.

    Attributes:
        index: 1 for the first; those that could be panels come first, left to right in rows from the top, the order in
            which `--panels` numbers them, then cut lines and what is no panel.
        ring: first point not repeated, as drawn (askew where it lies askew).
        panel: the panel's number, for a panel or the cut line of one.
        why: the reason in a few words (`"3" stands inside`, `named "side front"`, `its edges true with panel 2`).
        runner_up: what else it might be; empty where nothing comes near.
        waist: the waist line found, two points or more; `grain` the grain line.
        may_be_panel: whether `--panels` numbers it; such outlines come first.
        is_panel: its line stands for a panel of the garment (the other half's too, where both are drawn).
    """

    index: int
    ring: Polyline
    role: Role
    why: str
    panel: int | None = None
    runner_up: str = ""
    waist: Polyline | None = None
    grain: tuple[Point, Point] | None = None
    notches: tuple[Point, ...] = ()
    may_be_panel: bool = False
    is_panel: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleReading:
    """One way to read the drawing's unit.

    Attributes:
        mm_per_unit: of the sheet's coordinates.
        words: what it is (`as the file says, 1 unit = 1 mm`, `points taken for millimetres`).
        closed_waist_mm: the waist that the garment would then have; None while panels are not told.
        witness: what on the drawing speaks for it (`the square marked 5 cm`); empty for none.
    """

    mm_per_unit: float
    words: str
    closed_waist_mm: float | None = None
    witness: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """The whole reading of a sheet.

    Attributes:
        outlines: every closed outline, by index.
        scales: the likeliest first; more than one where a maker has to say.
        sizes: names of the sizes nested in the drawing, smallest first; empty for one size.
        drawing: what goes to `assemble`; None where `findings` holds a stop.
    """

    outlines: tuple[TakenOutline, ...]
    scales: tuple[ScaleReading, ...]
    sizes: tuple[str, ...] = ()
    drawing: Drawing | None = None
    findings: tuple[Finding, ...] = ()
