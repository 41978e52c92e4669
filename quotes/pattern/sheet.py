"""What a free drawing shows before anything in it is taken for a panel: its lines and its words.

The meeting point of those readers that see lines only (natural SVG and DXF, vector PDF, photographs) and of
`quotes/pattern/taking/`, which says what each line is. A reader resolves transforms and curves and tells nothing apart.
"""

from dataclasses import dataclass, field

from inventory.ground.findings import Finding
from quotes.pattern.geometry import Point, Polyline

__all__ = ["Label", "Sheet", "Stroke"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One line as drawn, in the sheet's unit, y upwards, curves flattened to `FLATNESS_MM`.

    Attributes:
        line: at least two points; a closed one does not repeat its first.
        where: the place in the file, for messages (`path "front"`, `page 2`, `layer "seams"`).
        layers: names of the layers, groups and blocks that it stands in, outermost first, its own name last.
        colour: of its stroke, else of its fill, as #rrggbb; empty where the file says none.
        dash: lengths drawn and left out, in turn; empty for a solid line.
        width: of the stroke; None where the file says none.
        is_arrow: the file draws a head at one end or both.
    """

    line: Polyline
    is_closed: bool
    where: str
    layers: tuple[str, ...] = ()
    colour: str = ""
    dash: tuple[float, ...] = ()
    width: float | None = None
    is_arrow: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A run of words; `at` is the middle of where it stands, `height` that of its letters, in the sheet's unit."""

    text: str
    at: Point
    where: str
    height: float = 0.0
    layers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """All that a reader found on a drawing.

    Attributes:
        mm_per_unit: how long a unit of the coordinates is by the file's own word (1 where a reader gives mm); None
            where the file says nothing, and `--units` or a witness on the drawing has to.
        unit_said: what the file's word is, for messages (`width="210mm"`, `$INSUNITS 4`, `the page's points`).
        notches: middles of the mouths of notches that the reader itself found (photographs).
        page: width and height of the page in the sheet's unit; None where the file has none.
    """

    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...] = ()
    mm_per_unit: float | None = 1.0
    unit_said: str = ""
    notches: tuple[Point, ...] = ()
    page: tuple[float, float] | None = None
    findings: tuple[Finding, ...] = field(default_factory=tuple)
