"""A lay as a DXF for plotters and cutters: a block for each piece, on the layers of ASTM D6673 / ANSI/AAMA-292.

Layers: 1 cut line, 14 stitching line, 4 notches, 7 grain line, 8 internal lines (the waist), 15 text. The cloth itself lies
on layers of its own name, which readers of pieces leave alone.
"""

import io

from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.base import BaseLayout

from quotes.drawings.cutting_table import CuttingTable, Kind, Stroke, TablePiece, Words

__all__ = ["lay_dxf"]

_LAYERS = {
    Kind.CUT: "1",
    Kind.STITCHING: "14",
    Kind.NOTCH: "4",
    Kind.GRAIN: "7",
    Kind.WAIST: "8",
    Kind.LABEL: "15",
    Kind.NOTE: "15",
}
"""Where the lines of pieces lie; the cloth's lie on CLOTH."""
_CLOTH = "CLOTH"
_MILLIMETRES, _NO_UNIT = 4, 0
_SMALL_MM = 3.0


def lay_dxf(table: CuttingTable) -> bytes:
    """Return the DXF (R2000) of a table, in mm, or without a unit where the lay has none."""
    document = new("R2000")
    document.header["$INSUNITS"] = _MILLIMETRES if table.is_in_mm else _NO_UNIT
    for layer in (*dict.fromkeys(_LAYERS.values()), _CLOTH):
        if layer not in document.layers:
            document.layers.add(layer)
    space = document.modelspace()
    names: dict[str, int] = {}
    for piece in table.pieces:
        names[piece.label] = names.get(piece.label, 0) + 1
        _add_piece(document, space, piece, names[piece.label])
    for stroke in table.cloth_strokes:
        _add_line(space, stroke, _CLOTH)
    for words in table.cloth_words:
        _add_words(space, words, _CLOTH)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def _add_piece(document: Drawing, space: BaseLayout, piece: TablePiece, copy: int) -> None:
    """A block where the piece lies, inserted at the origin, so that a block alone shows its place too."""
    block = document.blocks.new(_block_name(piece.label, copy))
    for stroke in piece.strokes:
        _add_line(block, stroke, _LAYERS[stroke.kind])
    for words in piece.words:
        _add_words(block, words, _LAYERS[words.kind])
    waist = next((stroke for stroke in piece.strokes if stroke.kind is Kind.WAIST), None)
    if waist:
        _add_words(block, Words(kind=Kind.NOTE, at=waist.points[0], text="waist", size=_SMALL_MM), _LAYERS[Kind.NOTE])
    left, low = min(x for x, _ in piece.outline), min(y for _, y in piece.outline)
    told = Words(kind=Kind.NOTE, at=(left, low - 2 * _SMALL_MM), text=f"Piece Name: {piece.label}", size=_SMALL_MM)
    _add_words(block, told, _LAYERS[Kind.NOTE])
    space.add_blockref(block.name, (0, 0))


def _block_name(label: str, copy: int) -> str:
    """A name that every DXF program takes: letters, digits, dashes."""
    plain = "".join(sign if sign.isascii() and sign.isalnum() else "-" for sign in label)
    return f"PIECE-{plain}" if copy == 1 else f"PIECE-{plain}-COPY-{copy}"


def _add_line(layout: BaseLayout, stroke: Stroke, layer: str) -> None:
    if len(stroke.points) == 2:
        layout.add_line(*stroke.points, dxfattribs={"layer": layer})
    else:
        layout.add_lwpolyline(stroke.points, close=stroke.is_closed, dxfattribs={"layer": layer})


def _add_words(layout: BaseLayout, words: Words, layer: str) -> None:
    text = layout.add_text(words.text, height=words.size, rotation=words.turned, dxfattribs={"layer": layer})
    text.set_placement(words.at, align=TextEntityAlignment.MIDDLE_CENTER)
