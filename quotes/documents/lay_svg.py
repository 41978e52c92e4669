"""A lay as an SVG of its true size: whole, or a window of it for a page."""

from inventory.ground.svg import Canvas
from quotes.drawings.cutting_table import CuttingTable, Kind, Stroke, Words

__all__ = ["Window", "lay_svg"]

Window = tuple[float, float, float, float]
"""Left, bottom, right and top of a part of a drawing, mm."""
_INK, _PALE, _CHALK, _PIN = "#1f2a33", "#5b6770", "#2b5c8a", "#9c3b2e"
_DRESS = f"""
svg {{ background: white; }}
path {{ fill: none; stroke: {_INK}; stroke-linejoin: round; stroke-linecap: round; }}
.stitching-line {{ stroke: {_CHALK}; stroke-dasharray: 4 2; }}
.waist-line {{ stroke: {_PIN}; stroke-dasharray: 8 2 1 2; }}
.cloth-end {{ stroke-dasharray: 6 4; }}
.flaw {{ stroke: {_PIN}; }}
.repeat {{ stroke: {_PALE}; }}
text {{ font-family: "Libertinus Serif", serif; fill: {_INK}; }}
.note, .measure {{ fill: {_PALE}; }}
"""
_STROKES_MM = {
    Kind.CUT: 0.7,
    Kind.STITCHING: 0.4,
    Kind.WAIST: 0.4,
    Kind.GRAIN: 0.4,
    Kind.NOTCH: 0.6,
    Kind.SELVEDGE: 1.4,
    Kind.CLOTH_END: 0.5,
    Kind.FLAW: 0.5,
    Kind.REPEAT: 0.3,
}


def lay_svg(table: CuttingTable, window: Window | None = None, *, bolder: float = 1.0) -> str:
    """Return the SVG of a table, millimetres for user units.

    Args:
        window: left, bottom, right and top of the part that is shown; None for all.
        bolder: how much larger words and lines are drawn, for a picture that is shown smaller.
    """
    left, low, right, high = window or table.bounds
    canvas = Canvas(
        title=f"Lay of {table.name}: {len(table.pieces)} pieces",
        left=left,
        bottom=low,
        width=right - left,
        height=high - low,
        classes="lay",
        dress=_DRESS,
    )
    for stroke in table.strokes:
        if _meets(stroke, (left, low, right, high)):
            wide = {"stroke-width": f"{_STROKES_MM[stroke.kind] * bolder:.2f}"}
            canvas.line(stroke.points, stroke.kind.value, closed=stroke.is_closed, **wide)
    for words in table.words:
        if _is_near(words, (left, low, right, high)):
            canvas.text(words.at, words.text, words.kind.value, turned=words.turned, size=words.size * bolder)
    return canvas.markup()


def _meets(stroke: Stroke, window: Window) -> bool:
    xs, ys = zip(*stroke.points, strict=True)
    return bool(min(xs) <= window[2] and max(xs) >= window[0] and min(ys) <= window[3] and max(ys) >= window[1])


def _is_near(words: Words, window: Window) -> bool:
    """Whether words may reach into a window; a letter is less wide than tall."""
    reach = words.size * (len(words.text) + 1)
    (x, y), (left, low, right, high) = words.at, window
    return left - reach <= x <= right + reach and low - reach <= y <= high + reach
