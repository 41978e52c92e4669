"""A page's content run through: operators of PDF to strokes and words in millimetres (ISO 32000-2, 8 and 9).

The interpreter is our own, on operands that pikepdf reads as written. PDFium's page objects would spare it, but they come in
single precision, without page units, inks and layers that are off, and PDFium ends the whole process when memory
runs out; here each operation is counted, and what is too much is refused.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import pikepdf
from pikepdf import Name

from inventory.ground.findings import refuse
from quotes.pattern.geometry import Point, Polyline
from quotes.pattern.readers.pdf_colour import WHITE, grey, process_colour
from quotes.pattern.readers.pdf_dashes import undashed
from quotes.pattern.readers.pdf_document import Budget, PdfPage, content_of
from quotes.pattern.readers.pdf_matrix import IDENTITY, Matrix, curve_points, moved, scale_of, through
from quotes.pattern.readers.pdf_outlined import middle_of_band, middle_of_thin
from quotes.pattern.readers.pdf_path import Clip, Subpath, bounds_of, clipped
from quotes.pattern.readers.pdf_state import State, colour_of, dash_of, matrix_of, numbers_of
from quotes.pattern.readers.pdf_text import Font, Run, font_of, labels_of
from quotes.pattern.readers.piece import checked_points
from quotes.pattern.sheet import Label, Stroke

__all__ = ["PageContent", "read_page"]

MOST_DEPTH = 20
_MOST_SAVED = 200
_FORM_COUNTS = 50
_CORNERS_COUNT = 20
"""As many operations as drawing a form counts for, beside its own; and as many corners of a clip that count for one."""
_UNSEEN_MODES = (3, 7)
"""Text that is not painted (ISO 32000-2, table 104): what a scan was read as, or a clip."""


@dataclass(slots=True)
class PageContent:
    """What a page shows, in mm from its lower left; `picture_share` is how much of it its largest picture covers."""

    strokes: list[Stroke] = field(default_factory=list)
    labels: tuple[Label, ...] = ()
    picture_share: float = 0.0
    unread: int = 0


def read_page(page: PdfPage, budget: Budget) -> PageContent:
    """Return what a page draws and is seen. Raises Refused past the budget, or where a coordinate is absurd."""
    found = PageContent()
    runs: list[Run] = []
    clip = Clip((-math.inf, -math.inf, math.inf, math.inf))
    data = content_of(page.page.get("/Contents"), budget)
    interpreter = _Interpreter(page, budget, found, runs, State(matrix=page.to_mm, clip=clip))
    interpreter.run(data, page.resources, depth=0)
    found.labels = labels_of(runs, f"page {page.number}")
    found.strokes = undashed(found.strokes)
    return found


class _Interpreter:
    """One page's run; forms are run by the same, with the state kept round them."""

    def __init__(self, page: PdfPage, budget: Budget, found: PageContent, runs: list[Run], state: State) -> None:
        self._page, self._budget, self._found, self._runs, self._state = page, budget, found, runs, state
        self._where = f"page {page.number}"
        self._saved: list[State] = []
        self._path: list[Subpath] = []
        self._clipping = False
        self._layers: list[tuple[str, bool]] = []
        self._fonts: dict[Any, Font] = {}
        self._running: list[tuple[int, int]] = []
        self._resources: Any = {}
        self._text: Matrix = IDENTITY
        self._line: Matrix = IDENTITY
        self._depth = 0
        self._do: dict[str, Callable[[Sequence[Any]], None]] = self._operators()

    def run(self, data: bytes, resources: Any, depth: int) -> None:
        """Run operators with their resources. Raises Refused past the budget."""
        outer, outer_depth = self._resources, self._depth
        self._resources, self._depth = resources, depth
        try:
            instructions = pikepdf.parse_content_stream(pikepdf.Stream(self._page.source, data))
        except (pikepdf.PdfError, TypeError, ValueError):
            raise refuse(
                "pdf.broken", self._where, f"What page {self._page.number} draws is damaged.", "Save it again."
            ) from None
        self._budget.take(operations=len(instructions))
        for instruction in instructions:
            try:
                operator = self._do.get(str(instruction.operator))
                if operator is not None:
                    operator(list(instruction.operands))
            except (ArithmeticError, AttributeError, IndexError, KeyError, TypeError, ValueError, pikepdf.PdfError):
                # Viewers leave out an operator that lacks what it needs; so does this, and says how many.
                self._found.unread += 1
        self._resources, self._depth = outer, outer_depth

    def _operators(self) -> dict[str, Callable[[Sequence[Any]], None]]:
        """What each operator does; those that paint shadings, set renderers and the like do nothing here."""
        paint = {"S": (1, 0, 0), "s": (1, 0, 1), "f": (0, 1, 0), "F": (0, 1, 0), "f*": (0, 1, 0), "n": (0, 0, 0)}
        paint |= {"B": (1, 1, 0), "B*": (1, 1, 0), "b": (1, 1, 1), "b*": (1, 1, 1)}
        return {
            **{name: self._painter(*map(bool, how)) for name, how in paint.items()},
            "q": lambda _: self._save(),
            "Q": lambda _: self._restore(),
            "cm": lambda o: self._set(matrix=through(matrix_of(o), self._state.matrix)),
            "w": lambda o: self._set(width=abs(float(o[0]))),
            "d": lambda o: self._set(dash=dash_of(o[0])),
            "gs": self._graphics_state,
            "m": lambda o: self._path.append(Subpath([self._at(o[0], o[1])])),
            "l": lambda o: self._add([self._at(o[0], o[1])]),
            "c": lambda o: self._curve(self._at(o[0], o[1]), self._at(o[2], o[3]), self._at(o[4], o[5])),
            "v": lambda o: self._curve(self._now(), self._at(o[0], o[1]), self._at(o[2], o[3])),
            "y": lambda o: self._curve(self._at(o[0], o[1]), self._at(o[2], o[3]), self._at(o[2], o[3])),
            "h": lambda _: self._close(),
            "re": self._rectangle,
            "W": lambda _: self._clip_next(),
            "W*": lambda _: self._clip_next(),
            "G": lambda o: self._set(pen=grey(float(o[0])), pen_space=Name.DeviceGray),
            "g": lambda o: self._set(ink=grey(float(o[0])), ink_space=Name.DeviceGray),
            "RG": lambda o: self._set(pen=process_colour(numbers_of(o)), pen_space=Name.DeviceRGB),
            "rg": lambda o: self._set(ink=process_colour(numbers_of(o)), ink_space=Name.DeviceRGB),
            "K": lambda o: self._set(pen=process_colour(numbers_of(o)), pen_space=Name.DeviceCMYK),
            "k": lambda o: self._set(ink=process_colour(numbers_of(o)), ink_space=Name.DeviceCMYK),
            "CS": lambda o: self._set(pen_space=self._colour_space(o[0]), pen="#000000"),
            "cs": lambda o: self._set(ink_space=self._colour_space(o[0]), ink="#000000"),
            **{name: lambda o: self._set(pen=colour_of(self._state.pen_space, o)) for name in ("SC", "SCN")},
            **{name: lambda o: self._set(ink=colour_of(self._state.ink_space, o)) for name in ("sc", "scn")},
            "Do": self._object,
            "INLINE IMAGE": lambda _: self._picture(),
            "BMC": lambda _: self._layers.append(("", True)),
            "BDC": self._marked,
            "EMC": lambda _: self._end_marked(),
            "BT": lambda _: self._place(IDENTITY),
            "Tf": self._choose_font,
            "Tc": lambda o: self._set(letter_space=float(o[0])),
            "Tw": lambda o: self._set(word_space=float(o[0])),
            "Tz": lambda o: self._set(stretch=float(o[0]) / 100),
            "TL": lambda o: self._set(leading=float(o[0])),
            "Ts": lambda o: self._set(rise=float(o[0])),
            "Tr": lambda o: self._set(mode=int(o[0])),
            "Tm": lambda o: self._place(matrix_of(o)),
            "Td": lambda o: self._next_line(float(o[0]), float(o[1])),
            "TD": self._next_line_and_leading,
            "T*": lambda _: self._next_line(0.0, -self._state.leading),
            "Tj": lambda o: self._show(o),
            "TJ": lambda o: self._show(list(o[0])),
            "'": self._show_on_next_line,
            '"': self._show_spaced_on_next_line,
        }

    def _set(self, **changes: Any) -> None:
        self._state = replace(self._state, **changes)

    def _save(self) -> None:
        if len(self._saved) >= _MOST_SAVED:
            raise refuse(
                "pdf.too-deep", self._where, "The page's content is nested too deeply.", "Save only the panels."
            )
        self._saved.append(self._state)

    def _restore(self) -> None:
        if self._saved:
            self._state = self._saved.pop()

    # Paths.

    def _at(self, x: Any, y: Any) -> Point:
        self._budget.take(points=1)
        return moved(self._state.matrix, float(x), float(y))

    def _add(self, points: Sequence[Point]) -> None:
        path = self._path[-1]
        if path.is_closed:
            path = Subpath([path.points[0]])
            self._path.append(path)
        path.points.extend(points)

    def _now(self) -> Point:
        """The current point: of a subpath that was closed, where it began."""
        return self._path[-1].points[0 if self._path[-1].is_closed else -1]

    def _curve(self, bend: Point, other: Point, end: Point) -> None:
        points = curve_points(self._now(), bend, other, end)
        self._budget.take(points=len(points))
        self._add(points)

    def _close(self) -> None:
        self._path[-1].is_closed = True

    def _rectangle(self, operands: Sequence[Any]) -> None:
        x, y, width, height = numbers_of(operands)
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
        self._path.append(Subpath([self._at(*corner) for corner in corners], is_closed=True))

    def _clip_next(self) -> None:
        self._clipping = True

    def _painter(self, with_pen: bool, with_ink: bool, closing: bool) -> Callable[[Sequence[Any]], None]:
        def paint(_: Sequence[Any]) -> None:
            path, self._path = self._path, []
            is_clip, self._clipping = self._clipping, False
            if closing and path:
                path[-1].is_closed = True
            if (with_pen or with_ink) and all(is_seen for _, is_seen in self._layers):
                self._paint(path, with_pen=with_pen, with_ink=with_ink)
            if is_clip:
                self._budget.take(operations=sum(len(subpath.points) for subpath in path))
                self._set(clip=self._state.clip.within(path))

        return paint

    def _paint(self, path: Sequence[Subpath], *, with_pen: bool, with_ink: bool) -> None:
        """Keep what is seen of a path: its line in the pen's colour, an area without one as its outline; white on white is not."""
        state = self._state
        with_pen = with_pen and state.pen_seen and state.pen != WHITE
        with_ink = not with_pen and with_ink and state.ink_seen and state.ink != WHITE
        if not (with_pen or with_ink):
            return
        scale = scale_of(state.matrix)
        layers = tuple(name for name, _ in self._layers if name)
        for line, is_closed, breadth in _drawn(path, with_ink=with_ink):
            checked_points(line, self._where)
            width = state.width * scale if with_pen else breadth
            pieces = clipped(line, is_closed, state.clip)
            self._budget.take(strokes=len(pieces) or 1, operations=state.clip.corners // _CORNERS_COUNT)
            for piece, stays_closed in pieces:
                self._found.strokes.append(
                    Stroke(
                        line=piece,
                        is_closed=stays_closed,
                        where=self._where,
                        layers=layers,
                        colour=state.pen if with_pen else state.ink,
                        dash=tuple(round(part * scale, 4) for part in state.dash) if with_pen else (),
                        width=None if width is None else round(width, 4),
                    )
                )

    # Colours and settings.

    def _colour_space(self, name: Any) -> Any:
        spaces = self._resources.get("/ColorSpace", {})
        return spaces.get(str(name), name)

    def _graphics_state(self, operands: Sequence[Any]) -> None:
        said = self._resources["/ExtGState"][str(operands[0])]
        if "/LW" in said:
            self._set(width=abs(float(said["/LW"])))
        if "/D" in said:
            self._set(dash=dash_of(said["/D"][0]))
        if "/CA" in said:
            self._set(pen_seen=float(said["/CA"]) > 0)
        if "/ca" in said:
            self._set(ink_seen=float(said["/ca"]) > 0)
        if "/Font" in said:
            self._set(font=font_of(said["/Font"][0], self._budget), size=float(said["/Font"][1]))

    # Forms, pictures and layers.

    def _object(self, operands: Sequence[Any]) -> None:
        thing = self._resources["/XObject"][str(operands[0])]
        name, is_seen = self._page.layers.named(thing.get("/OC"))
        if not is_seen or not all(seen for _, seen in self._layers):
            return
        if thing.get("/Subtype") == Name.Image:
            self._picture()
        elif thing.get("/Subtype") == Name.Form:
            self._form(thing, name)

    def _form(self, form: Any, layer: str) -> None:
        if form.objgen in self._running:
            return
        if self._depth >= MOST_DEPTH:
            raise refuse(
                "pdf.too-deep", self._where, "The page's content is nested too deeply.", "Save only the panels."
            )
        self._budget.take(operations=_FORM_COUNTS)
        kept, saved, path, text = self._state, self._saved, self._path, (self._text, self._line)
        layers = list(self._layers)
        self._saved, self._path = [], []
        self._layers.append((layer, True))
        self._set(matrix=through(matrix_of(form.get("/Matrix", IDENTITY)), kept.matrix))
        if "/BBox" in form:
            x0, y0, x1, y1 = numbers_of(form["/BBox"])
            corners = [self._at(*corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
            self._set(clip=kept.clip.within([Subpath(corners, is_closed=True)]))
        self._running.append(form.objgen)
        self.run(content_of(form, self._budget), form.get("/Resources", self._resources), self._depth + 1)
        self._running.pop()
        self._state, self._saved, self._path, self._layers = kept, saved, path, layers
        self._text, self._line = text

    def _picture(self) -> None:
        """Count how much of the page a picture, which fills the unit square, covers; it is not looked at."""
        corners = [moved(self._state.matrix, *corner) for corner in ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))]
        left, bottom, right, top = bounds_of(corners)
        width = min(right, self._page.width_mm) - max(left, 0.0)
        height = min(top, self._page.height_mm) - max(bottom, 0.0)
        if width > 0 and height > 0 and all(is_seen for _, is_seen in self._layers):
            share = width * height / (self._page.width_mm * self._page.height_mm)
            self._found.picture_share = max(self._found.picture_share, share)

    def _marked(self, operands: Sequence[Any]) -> None:
        group = operands[1]
        if isinstance(group, pikepdf.Name):
            group = self._resources.get("/Properties", {}).get(str(group))
        named = self._page.layers.named(group) if str(operands[0]) == "/OC" else ("", True)
        self._layers.append(named)

    def _end_marked(self) -> None:
        if self._layers:
            self._layers.pop()

    # Text.

    def _choose_font(self, operands: Sequence[Any]) -> None:
        font = self._resources.get("/Font", {}).get(str(operands[0]))
        key = getattr(font, "objgen", (0, 0))
        if key == (0, 0) or key not in self._fonts:
            self._fonts[key] = font_of(font, self._budget)
        self._set(font=self._fonts[key], size=float(operands[1]))

    def _place(self, matrix: Matrix) -> None:
        self._text = self._line = matrix

    def _next_line(self, x: float, y: float) -> None:
        self._place(through((1.0, 0.0, 0.0, 1.0, x, y), self._line))

    def _next_line_and_leading(self, operands: Sequence[Any]) -> None:
        self._set(leading=-float(operands[1]))
        self._next_line(float(operands[0]), float(operands[1]))

    def _show_on_next_line(self, operands: Sequence[Any]) -> None:
        self._next_line(0.0, -self._state.leading)
        self._show(operands)

    def _show_spaced_on_next_line(self, operands: Sequence[Any]) -> None:
        self._set(word_space=float(operands[0]), letter_space=float(operands[1]))
        self._show_on_next_line(operands[2:])

    def _show(self, parts: Sequence[Any]) -> None:
        """Show strings, moved between them by thousandths of the font's size."""
        for part in parts:
            if isinstance(part, pikepdf.String):
                self._show_string(bytes(part))
            else:
                self._advance(-float(part) / 1000 * self._state.size * self._state.stretch)

    def _show_string(self, said: bytes) -> None:
        state = self._state
        self._budget.take(operations=len(said))
        matrix = through(self._text, state.matrix)
        start = moved(matrix, 0.0, state.rise)
        words, ahead = [], 0.0
        for character, width, is_space in state.font.letters(said):
            words.append(character)
            ahead += (width * state.size + state.letter_space + (state.word_space if is_space else 0.0)) * state.stretch
        self._advance(ahead)
        end = moved(matrix, ahead - state.letter_space * state.stretch, state.rise)
        up = (matrix[2], matrix[3])
        length = math.hypot(*up)
        text = "".join(words)
        if not text.strip() or state.mode in _UNSEEN_MODES or not length or not all(seen for _, seen in self._layers):
            return
        checked_points((start, end), self._where)
        (box_left, box_bottom, box_right, box_top), (x, y) = (
            state.clip.box,
            ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2),
        )
        if box_left <= x <= box_right and box_bottom <= y <= box_top:
            layers = tuple(name for name, _ in self._layers if name)
            size = abs(state.size) * length
            self._runs.append(Run(text, start, end, size, (up[0] / length, up[1] / length), layers))

    def _advance(self, by: float) -> None:
        self._text = through((1.0, 0.0, 0.0, 1.0, by, 0.0), self._text)


def _drawn(path: Sequence[Subpath], *, with_ink: bool) -> Iterator[tuple[Polyline, bool, float | None]]:
    """The lines of a path, whether each is a ring, and how broad those are that were painted as narrow areas."""
    lines = [line for line in (subpath.line(closing=with_ink) for subpath in path) if len(line[0]) > 1]
    if with_ink and (band := middle_of_band([line for line, _ in lines])):
        yield band[0], True, band[1]
        return
    for line, is_closed in lines:
        if with_ink and (middle := middle_of_thin(line)):
            yield middle[0], False, middle[1]
        else:
            yield line, is_closed, None
