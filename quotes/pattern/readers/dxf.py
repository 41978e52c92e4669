"""Patterns in DXF, as ASTM D6673 / ANSI/AAMA-292 lay them out, and plain drawings with numbered outlines.

Layers: 1 cut line, 14 stitching line, 2 turn points, 3 curve points, 4 notches, 7 grain, 8 internal lines, 11 cut-outs,
13 drill holes, 15 text. One block per piece; in a plain drawing closed outlines on other layers are stitching lines.
Source: ASTM D6673 and ANSI/AAMA-292 (layers, one block per piece), DXF reference ($INSUNITS).
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

import shapely
from ezdxf import path as dxf_path
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.insert import Insert
from ezdxf.entities.lwpolyline import LWPolyline
from ezdxf.math import Matrix44, Vec3
from shapely import LineString, Polygon

from inventory.ground.findings import Finding, Refused, note, refuse, stop
from quotes.pattern.drawing import FLATNESS_MM, Drawing, DrawnPanel, ReadOptions
from quotes.pattern.geometry import Point, Polyline, as_line, as_polygon
from quotes.pattern.readers.chaining import chained
from quotes.pattern.readers.dxf_document import is_hidden, mm_per_unit, open_document, text_of, within_budget
from quotes.pattern.readers.piece import checked_points, inside, number_in, waist_among
from quotes.pattern.sheet import Label, Stroke
from quotes.pattern.taking.inner_marks import marks_of

__all__ = ["read"]

CUT, SEW, TURN, NOTCH, GRAIN, INTERNAL, CUT_OUT = "1", "14", "2", "4", "7", "8", "11"
LISTED = frozenset({CUT, SEW, TURN, "3", NOTCH, GRAIN, INTERNAL, CUT_OUT, "5", "6", "13", "15"})
_CURVES = frozenset({"LINE", "POLYLINE", "LWPOLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE"})
_NAME_TEXT = re.compile(r"\bPiece\s+Name\s*:\s*(.+)", re.IGNORECASE)
_QUANTITY_TEXT = re.compile(r"\bQuantity\s*:\s*(\d{1,4})", re.IGNORECASE)


@dataclass(slots=True)
class _Piece:
    """What one piece's entities show, in mm."""

    where: str
    name: str = ""
    lines: dict[str, list[Polyline]] = field(default_factory=dict)
    points: dict[str, list[Point]] = field(default_factory=dict)
    texts: list[tuple[Point, str]] = field(default_factory=list)


def read(data: bytes, options: ReadOptions) -> Drawing:
    """Return the drawing of a DXF file. Raises Refused with every fault that could be found."""
    document = open_document(data)
    factor, overruled = mm_per_unit(document, data, options)
    space = document.modelspace()
    inserts = [entity for entity in space if isinstance(entity, Insert)]
    within_budget(document, [*space])
    if inserts:
        pieces = [
            _piece(_inserted(insert, placed), f'block "{insert.dxf.name}"', insert.dxf.name, factor)
            for insert, placed in _piece_inserts(inserts, Matrix44())
        ]
        pieces = [piece for piece in pieces if piece.lines]
    else:
        pieces = []
        for block in document.blocks:
            if not block.name.startswith("*") and len(block):
                within_budget(document, [*block])
                piece = _piece(_entities(block, Matrix44()), f'block "{block.name}"', block.name, factor)
                if piece.lines:
                    pieces.append(piece)
    findings: list[Finding] = []
    faults: list[Finding] = []
    panels: list[DrawnPanel] = []
    for piece in pieces:
        try:
            panels.append(_panel_of_block(piece, options))
        except Refused as refusal:
            faults += refusal.findings
    if not panels and not faults:
        try:
            panels, findings = _panels_of_plain(_piece(_entities(space, Matrix44()), "drawing", "", factor))
        except Refused as refusal:
            faults += refusal.findings
    if faults:
        raise Refused(faults)
    if not panels:
        raise refuse(
            "pattern.no-panels",
            "file",
            "No closed outline was found in the drawing.",
            "Draw each panel as a closed line.",
        )
    return Drawing(name="", panels=tuple(panels), mm_per_unit=factor, findings=(*overruled, *findings))


def _entities(layout: Iterable[DXFEntity], placed: Matrix44) -> Iterator[tuple[DXFEntity, Matrix44]]:
    """The entities of a layout or block with where they are placed, inserts resolved."""
    for entity in layout:
        if isinstance(entity, Insert):
            if entity.doc is None or not is_hidden(entity.doc, entity):
                yield from _inserted(entity, placed)
        else:
            yield entity, placed


def _piece_inserts(inserts: Iterable[Insert], placed: Matrix44) -> Iterator[tuple[Insert, Matrix44]]:
    """The inserts that draw a piece each; one that gathers several others and nothing else is opened."""
    for insert in inserts:
        block = list(insert.block() or ())
        inner = [entity for entity in block if isinstance(entity, Insert)]
        if len(inner) > 1 and len(inner) == len(block):
            yield from _piece_inserts(inner, insert.matrix44() @ placed)
        else:
            yield insert, placed


def _inserted(insert: Insert, placed: Matrix44) -> Iterator[tuple[DXFEntity, Matrix44]]:
    for copy in insert.multi_insert() if insert.mcount > 1 else [insert]:
        yield from _entities(copy.block() or (), copy.matrix44() @ placed)
        yield from ((attribute, placed) for attribute in copy.attribs)


def _piece(entities: Iterable[tuple[DXFEntity, Matrix44]], where: str, name: str, factor: float) -> _Piece:
    piece = _Piece(where=where, name=name)
    for entity, placed in entities:
        if entity.doc is not None and is_hidden(entity.doc, entity):
            continue
        layer = str(entity.dxf.get("layer", "0")).strip()
        kind = entity.dxftype()
        if kind == "POINT":
            spot = _spot(entity.dxf.location, placed, factor)
            piece.points.setdefault(layer, []).extend(checked_points((spot,), where))
        elif kind in _CURVES:
            line = _flattened(entity, placed, factor)
            if len(line) > 1:
                piece.lines.setdefault(layer, []).append(checked_points(line, where))
        else:
            text = text_of(entity)
            if text:
                piece.texts.append((_spot(entity.dxf.insert, placed, factor), text))
    return piece


def _spot(point: Vec3, placed: Matrix44, factor: float) -> Point:
    x, y, _ = placed.transform(point)
    return x * factor, y * factor


def _flattened(entity: DXFEntity, placed: Matrix44, factor: float) -> Polyline:
    try:
        if isinstance(entity, LWPolyline) and not entity.has_arc:
            # Most outlines are straight lines of many points; a path would make each of them three times.
            spots, is_closed = placed.transform_vertices(entity.vertices_in_wcs()), entity.closed
        else:
            curve = dxf_path.make_path(entity).transform(placed)
            spots, is_closed = curve.flattening(FLATNESS_MM / factor, segments=4), curve.is_closed
        points = [(v.x * factor, v.y * factor) for v in spots]
    except (ArithmeticError, IndexError, TypeError, ValueError):
        return ()
    if is_closed and points and points[0] != points[-1]:
        points.append(points[0])
    return tuple(points)


def _panel_of_block(piece: _Piece, options: ReadOptions) -> DrawnPanel:
    name, quantity = piece.name, None
    for _, text in piece.texts:
        told = _NAME_TEXT.search(text)
        name = told[1].strip() if told else name
        counted = _QUANTITY_TEXT.search(text)
        quantity = int(counted[1]) if counted else quantity
    if piece.lines.get(CUT_OUT):
        raise refuse(
            "dxf.cut-out",
            piece.where,
            "The piece has a cut-out (layer 11); a panel with a hole cannot be sewn as one.",
            "Part the panel, or draw the hole as an internal line.",
        )
    stitching = _one_ring(piece, piece.lines.get(SEW, []), "stitching line")
    if stitching is None:
        others = [line for layer, lines in piece.lines.items() if layer not in LISTED for line in lines]
        stitching = _one_ring(piece, others, "stitching line")
    cut = _one_ring(piece, piece.lines.get(CUT, []), "cut line")
    outline = stitching or cut
    if outline is None:
        raise refuse(
            "pattern.outline-open",
            piece.where,
            "The piece has no closed outline; its ends lie more than 0.5 mm apart.",
            "Close the outline on layer 14 (stitching line) or 1 (cut line).",
        )
    number = number_in(name)
    if number is None:
        number = number_in(piece.name)
    waist, notches, grain = _marks(piece, outline, is_cut_line=stitching is None)
    return DrawnPanel(
        number=number,
        where=piece.where,
        stitching=stitching,
        cut=cut,
        turn_points=tuple(piece.points.get(TURN, ())),
        notches=notches,
        waist=waist,
        grain=grain,
        name=name[:80],
        quantity=quantity,
    )


def _one_ring(piece: _Piece, lines: list[Polyline], what: str) -> Polyline | None:
    """The ring that the lines make: the largest, where marks of the same layer make small ones."""
    if not lines:
        return None
    rings, still_open = chained(lines)
    if not rings:
        ends = ", ".join(f"({line[0][0]:.1f}, {line[0][1]:.1f})" for line in still_open[:3])
        raise refuse(
            "pattern.outline-open",
            piece.where,
            f"The {what} does not close; ends lie at {ends} mm, more than 0.5 mm apart.",
            "Join the ends.",
        )
    return max(rings, key=lambda ring: Polygon(ring).area)


def _marks(
    piece: _Piece, outline: Polyline, *, is_cut_line: bool
) -> tuple[Polyline | None, tuple[Point, ...], tuple[Point, Point] | None]:
    """Waist, notches and grain from the layers that are theirs; what those lack, from lines on any layer."""
    waist = waist_among(_with_texts(piece), outline, is_cut_line=is_cut_line)
    notches, grain = _notches(piece), _grain(piece)
    strokes = [
        Stroke(line=line, is_closed=False, where=piece.where, layers=(layer,))
        for layer, lines in piece.lines.items()
        if layer not in LISTED
        for line in lines
        if line[0] != line[-1]
    ]
    if strokes and (waist is None or not notches or grain is None):
        labels = [Label(text=text, at=at, where=piece.where) for at, text in piece.texts]
        found = marks_of(outline, strokes, labels, is_cut_line=is_cut_line)
        waist, notches, grain = waist or found.waist, notches or found.notches, grain or found.grain
    return waist, notches, grain


def _notches(piece: _Piece) -> tuple[Point, ...]:
    """Notch points, and the middles of notch strokes."""
    strokes = [LineString(line).interpolate(0.5, normalized=True) for line in piece.lines.get(NOTCH, [])]
    return (*piece.points.get(NOTCH, ()), *((float(p.x), float(p.y)) for p in strokes))


def _grain(piece: _Piece) -> tuple[Point, Point] | None:
    lines = piece.lines.get(GRAIN, [])
    if not lines:
        return None
    longest = max(lines, key=lambda line: LineString(line).length)
    return longest[0], longest[-1]


def _with_texts(piece: _Piece) -> list[tuple[Polyline, str]]:
    """Internal lines, each with the texts that stand nearest to it."""
    lines = piece.lines.get(INTERNAL, [])
    found = [(line, "") for line in lines]
    for place, text in piece.texts:
        if lines and "waist" in text.lower():
            nearest = min(range(len(lines)), key=lambda index: LineString(lines[index]).distance(_point(place)))
            found[nearest] = (lines[nearest], text)
    return found


def _point(place: Point) -> LineString:
    return LineString([place, place])


def _panels_of_plain(drawing: _Piece) -> tuple[list[DrawnPanel], list[Finding]]:
    """Panels of a drawing without blocks: closed outlines, each with a number as text inside."""
    outlines = [line for layer, lines in drawing.lines.items() if layer not in LISTED for line in lines]
    sewn, still_open = chained([*outlines, *drawing.lines.get(SEW, [])])
    cut, _ = chained(drawing.lines.get(CUT, []))
    rings = [*sewn, *(ring for ring in cut if not any(inside(ring, line[0]) for line in sewn))]
    frames = [ring for ring in rings if sum(inside(ring, other[0]) for other in rings if other is not ring) > 1]
    findings: list[Finding] = [
        note("dxf.frame", "drawing", "A line round several outlines was taken for a frame and left out.")
        for _ in frames
    ]
    panels, faults = [], []
    for ring in rings:
        if ring in frames:
            continue
        own_cut = next((outer for outer in cut if outer != ring and inside(outer, ring[0])), None)
        around = own_cut or ring
        texts = [text for place, text in drawing.texts if inside(around, place)]
        numbers = {number for text in texts if (number := number_in(text)) is not None}
        where = f"outline at ({ring[0][0]:.0f}, {ring[0][1]:.0f}) mm"
        if len(numbers) > 1:
            faults.append(
                stop(
                    "pattern.number-ambiguous",
                    where,
                    f"The outline has several numbers inside: {', '.join(map(str, sorted(numbers)))}.",
                    "Leave one number as text in each panel.",
                )
            )
            continue
        shape = as_polygon(around)
        shapely.prepare(shape)
        near = shape.buffer(2)
        shapely.prepare(near)
        within = _Piece(
            where=where,
            lines={
                layer: [line for line in lines if shape.contains(as_line(line).interpolate(0.5, normalized=True))]
                for layer, lines in drawing.lines.items()
            },
            points={
                layer: [point for point in points if near.contains(_point(point))]
                for layer, points in drawing.points.items()
            },
            texts=[(place, text) for place, text in drawing.texts if inside(around, place)],
        )
        is_cut_only = ring in cut
        waist, notches, grain = _marks(within, around, is_cut_line=is_cut_only)
        panels.append(
            DrawnPanel(
                number=next(iter(numbers), None),
                where=f"panel {next(iter(numbers))}" if numbers else where,
                stitching=None if is_cut_only else ring,
                cut=ring if is_cut_only else own_cut,
                turn_points=tuple(within.points.get(TURN, ())),
                notches=notches,
                waist=waist,
                grain=grain,
            )
        )
    if faults:
        raise Refused(faults)
    after_last = max((panel.number or 0 for panel in panels), default=0) + 1
    if panels and still_open and any(number_in(text) == after_last for _, text in drawing.texts):
        raise refuse(
            "pattern.outline-open",
            f"panel {after_last}",
            f"The number {after_last} stands in no closed outline, and some lines close to none.",
            "Join the ends of its outline, or take the number out.",
        )
    return panels, findings
