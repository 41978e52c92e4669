"""DXF files for the tests, written by a general-purpose DXF library."""

import io
import math
from collections.abc import Callable

import ezdxf
from ezdxf.document import Drawing as Document
from ezdxf.layouts import BlockLayout
from support_patterns import block_a, ring_of

from quotes.pattern.block import draw_block

__all__ = ["dxf_bytes", "large_dxf", "new_document", "underbust_dxf"]


def new_document(units: int | None = 4) -> Document:
    document = ezdxf.new("R2000")
    if units is None:
        del document.header["$INSUNITS"]
    else:
        document.header["$INSUNITS"] = units
    return document


def dxf_bytes(document: Document) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()


def underbust_dxf(units: int | None = 4, draw: Callable[[BlockLayout, int], None] | None = None) -> Document:
    """The worked underbust, a block a panel with its stitching line and waist."""
    document = new_document(units)
    x = 0.0
    for panel in draw_block(block_a()).pattern.panels:
        block = document.blocks.new(f"PIECE-{panel.number}")
        block.add_lwpolyline(panel.outline, close=True, dxfattribs={"layer": "14"})
        block.add_line(panel.front[-1 - 1], panel.back[-1 - 1], dxfattribs={"layer": "5"})
        waist = [next((px, py) for px, py in edge if py == 0) for edge in (panel.front, panel.back)]
        block.add_line(waist[0], waist[1], dxfattribs={"layer": "8"})
        if draw:
            draw(block, panel.number)
        document.modelspace().add_blockref(block.name, (x, 0))
        x += 150
    return document


def large_dxf(megabytes: float = 1.0) -> bytes:
    """A pattern whose outlines have so many points that its file has about so many megabytes."""
    document = new_document()
    panels = draw_block(block_a()).pattern.panels
    points_a_side = math.ceil(megabytes * 1_000_000 / 45 / len(panels) / 8)
    for panel in panels:
        block = document.blocks.new(f"PIECE-{panel.number}")
        block.add_lwpolyline(ring_of(panel, points_a_side=points_a_side), close=True, dxfattribs={"layer": "14"})
        document.modelspace().add_blockref(block.name, (0, 0))
    return dxf_bytes(document)
