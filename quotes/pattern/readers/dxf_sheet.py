"""DXF as people draw it: every line and word with its blocks and layer, told apart by nobody yet.

Layers that are off or frozen and blocks that are not placed are left out (but where nothing is placed, the blocks are
what is drawn).
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ezdxf import colors
from ezdxf import path as dxf_path
from ezdxf.document import Drawing as Document
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.entities.insert import Insert
from ezdxf.entities.mtext import MText
from ezdxf.math import Matrix44, Vec3

from inventory.ground.findings import Finding, Refused
from quotes.pattern.drawing import FLATNESS_MM, ReadOptions
from quotes.pattern.geometry import Point
from quotes.pattern.readers.dxf_document import is_hidden, mm_per_unit, open_document, text_of, within_budget
from quotes.pattern.readers.piece import checked_points
from quotes.pattern.sheet import Label, Sheet, Stroke

__all__ = ["read_sheet"]

_CURVES = frozenset({"LINE", "POLYLINE", "LWPOLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE"})
_LETTER_WIDTH = 0.7
"""Of a letter's height; common practice, no source: for where the middle of a word stands."""
_STANDARD_LAYERS = {
    "1": "cut", "14": "stitching", "7": "grain", "8": "internal", "4": "notch",
    "2": "turn points", "3": "curve points", "11": "cut-out", "13": "drill holes", "15": "text",
}  # fmt: skip
"""Names for the numbers of ASTM D6673 / ANSI/AAMA-292, so that no layer number is taken for a panel's."""


@dataclass(frozen=True, slots=True)
class _Placed:
    """An entity, where it is placed, the blocks that it stands in, and the layer that it is seen on.

    In a block what lies on layer 0 is seen on the layer of the insert.
    """

    entity: DXFEntity
    placed: Matrix44
    blocks: tuple[str, ...]
    layer: str


def read_sheet(data: bytes, options: ReadOptions) -> Sheet:
    """Return what a DXF shows, in its own drawing units. Raises Refused for what is broken or too much."""
    document = open_document(data)
    scale, said, findings = _unit(document, data, options)
    space = document.modelspace()
    within_budget(document, [*space])
    entities = list(_entities(document, space, Matrix44()))
    if not any(found.entity.dxftype() in _CURVES for found in entities):
        blocks = [block for block in document.blocks if not block.name.startswith("*") and len(block)]
        for block in blocks:
            within_budget(document, [*block])
        entities += [found for block in blocks for found in _entities(document, block, Matrix44(), (block.name,))]
    strokes: list[Stroke] = []
    labels: list[Label] = []
    notches: list[Point] = []
    are_panels = _layers_are_panels({found.layer for found in entities if found.entity.dxftype() in _CURVES})
    for found in entities:
        entity, placed = found.entity, found.placed
        if is_hidden(document, entity, found.layer):
            continue
        layer = found.layer.strip()
        own = layer if are_panels else _STANDARD_LAYERS.get(layer, layer)
        layers = (*found.blocks, *([] if layer == "0" else [own]))
        kind = entity.dxftype()
        if kind == "POINT":
            notches.append(_spot(entity.dxf.location, placed))
        elif kind in _CURVES:
            stroke = _stroke(document, found, layers, scale or 1.0)
            strokes += [stroke] if stroke else []
        else:
            labels += _labels(entity, placed, layers)
    return Sheet(
        strokes=tuple(strokes),
        labels=tuple(labels),
        mm_per_unit=scale,
        unit_said=said,
        notches=tuple(notches),
        findings=findings,
    )


def _layers_are_panels(layers: set[str]) -> bool:
    """Whether lines lie on layers 1 to n and no others: a layer a panel, for the standard leaves such numbers out."""
    numbers = sorted(int(layer) for layer in layers if layer.isdigit() and layer != "0")
    return len(numbers) > 2 and numbers == list(range(1, len(numbers) + 1))


def _unit(document: Document, data: bytes, options: ReadOptions) -> tuple[float | None, str, tuple[Finding, ...]]:
    """The file's own word for its unit; None where it says none, or several and the maker says which."""
    open_units = {"file.no-units", "file.unknown-units"} | ({"file.units-contradict"} if options.units else set())
    try:
        scale, findings = mm_per_unit(document, data, ReadOptions())
    except Refused as refusal:
        if {finding.code for finding in refusal.findings} <= open_units:
            return None, "", ()
        raise
    code = document.header.get("$INSUNITS", 0)
    return scale, f"$INSUNITS {code}" if code else "UNITS in its texts", findings


def _entities(
    document: Document, layout: Iterable[DXFEntity], placed: Matrix44, blocks: tuple[str, ...] = (), layer: str = "0"
) -> Iterator[_Placed]:
    """The entities of a layout or block with where they are placed, inserts resolved; `layer` is that of their insert."""
    for entity in layout:
        if not isinstance(entity, DXFGraphic):
            continue
        own = str(entity.dxf.get("layer", "0"))
        own = layer if own == "0" else own
        if not isinstance(entity, Insert):
            yield _Placed(entity, placed, blocks, own)
            continue
        if is_hidden(document, entity, own):
            continue
        inside = (*blocks, entity.dxf.name)
        for copy in entity.multi_insert() if entity.mcount > 1 else [entity]:
            yield from _entities(document, copy.block() or (), copy.matrix44() @ placed, inside, own)
            yield from _entities(document, copy.attribs, placed, inside, own)


def _stroke(document: Document, found: _Placed, layers: tuple[str, ...], mm_per_drawing_unit: float) -> Stroke | None:
    entity, placed = found.entity, found.placed
    where = f'{entity.dxftype().lower()} on layer "{layers[-1] if layers else 0}"'
    try:
        curve = dxf_path.make_path(entity).transform(placed)
        # An absurd curve would come to points without number.
        checked_points(tuple((v.x, v.y) for v in curve.control_vertices()), where)
        points = [(v.x, v.y) for v in curve.flattening(FLATNESS_MM / min(mm_per_drawing_unit, 1.0), segments=4)]
    except (ArithmeticError, IndexError, TypeError, ValueError):
        return None
    line = checked_points(tuple(points), where)
    is_closed = curve.is_closed or bool(getattr(entity, "closed", False)) or bool(getattr(entity, "is_closed", False))
    if is_closed and len(line) > 1 and line[0] == line[-1]:
        line = line[:-1]
    if len(line) < 2:
        return None
    return Stroke(
        line=line,
        is_closed=is_closed and len(line) > 2,
        where=where,
        layers=layers,
        colour=_colour(document, entity, found.layer),
        dash=_dash(document, entity, found.layer),
    )


def _colour(document: Document, entity: DXFEntity, layer: str) -> str:
    code = int(entity.dxf.get("color", 256))
    if code in (0, 256):
        code = abs(document.layers.get(layer).color) if layer in document.layers else 7
    if entity.dxf.hasattr("true_color"):
        red, green, blue = colors.int2rgb(entity.dxf.true_color)
    else:
        red, green, blue = colors.aci2rgb(code if 1 <= code <= 255 else 7)
    return f"#{red:02x}{green:02x}{blue:02x}"


def _dash(document: Document, entity: DXFEntity, layer: str) -> tuple[float, ...]:
    name = str(entity.dxf.get("linetype", "BYLAYER"))
    if name.upper() in ("BYLAYER", "BYBLOCK"):
        name = str(document.layers.get(layer).dxf.get("linetype", "CONTINUOUS")) if layer in document.layers else ""
    if name.upper() in ("", "CONTINUOUS") or name not in document.linetypes:
        return ()
    return tuple(float(length) for length in document.linetypes.get(name).simplified_line_pattern())


def _labels(entity: DXFEntity, placed: Matrix44, layers: tuple[str, ...]) -> list[Label]:
    """The lines of a text; several of them stand under each other."""
    words = text_of(entity)
    if not words.strip() or not entity.dxf.hasattr("insert"):
        return []
    if isinstance(entity, MText):
        size = float(entity.dxf.get("char_height", 1.0))
        ahead = {1: 0.5, 0: -0.5}.get(int(entity.dxf.get("attachment_point", 1)) % 3, 0.0)
        anchor = entity.dxf.insert
    else:
        size = float(entity.dxf.get("height", 1.0))
        ahead = {0: 0.5, 2: -0.5}.get(int(entity.dxf.get("halign", 0)), 0.0)
        is_aligned = entity.dxf.hasattr("align_point") and entity.dxf.get("halign", 0)
        anchor = entity.dxf.align_point if is_aligned else entity.dxf.insert
    turn = math.radians(float(entity.dxf.get("rotation", 0.0)))
    x, y, _ = anchor
    found = []
    for row, line in enumerate(words.splitlines()):
        if not line.strip():
            continue
        along, up = ahead * _LETTER_WIDTH * size * len(line), 0.5 * size - 1.6 * size * row
        middle = Vec3(
            x + along * math.cos(turn) - up * math.sin(turn), y + along * math.sin(turn) + up * math.cos(turn), 0
        )
        at = _spot(middle, placed)
        found.append(
            Label(text=line.strip()[:300], at=at, where=f'text "{line.strip()[:40]}"', height=size, layers=layers)
        )
    return found


def _spot(point: Vec3, placed: Matrix44) -> Point:
    x, y, _ = placed.transform(point)
    return float(x), float(y)
