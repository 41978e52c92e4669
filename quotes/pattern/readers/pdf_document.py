"""A PDF opened safely: its pages with their true measure, its layers with what is switched off.

Nothing in it is run or followed: scripts, actions, links, forms to fill in and embedded files are never looked at.
"""

import math
import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import pikepdf
from pikepdf import Name

from inventory.ground.findings import Finding, Refused, refuse, warn
from quotes.pattern.readers.pdf_matrix import Matrix, through

__all__ = ["Budget", "PdfLayers", "PdfPage", "broken", "content_of", "number_or", "opened"]

MM_PER_POINT = 25.4 / 72
"""A user space unit is 1/72 inch (ISO 32000-2, 8.3.2.3), unless the page says UserUnit."""
_STREAM = re.compile(r"^stream <[^>]*>:?\s*")
"""How the library begins its sentence about a file that it was not given by name."""
MOST_PAGES = 120
MOST_OPERATIONS = 300_000
MOST_POINTS = 600_000
MOST_STROKES = 40_000
MOST_CONTENT_BYTES = 16_000_000
MOST_PARENTS = 50


@dataclass(slots=True)
class Budget:
    """What reading one file may still take; every form counts anew each time that it is drawn."""

    operations: int = MOST_OPERATIONS
    points: int = MOST_POINTS
    strokes: int = MOST_STROKES
    content_bytes: int = MOST_CONTENT_BYTES

    def take(self, *, operations: int = 0, points: int = 0, strokes: int = 0, content_bytes: int = 0) -> None:
        """Count what is used. Raises Refused when it is more than a drawing of a pattern needs."""
        self.operations -= operations
        self.points -= points
        self.strokes -= strokes
        self.content_bytes -= content_bytes
        if min(self.operations, self.points, self.strokes, self.content_bytes) < 0:
            raise refuse(
                "pdf.too-many",
                "file",
                "The PDF draws more than a pattern can hold, counting every copy.",
                "Save only the pattern's pages, without pictures made of lines.",
            )


@dataclass(frozen=True, slots=True)
class PdfLayers:
    """Optional content (ISO 32000-2, 8.11) as the default configuration shows it."""

    off: frozenset[tuple[int, int]] = frozenset()

    def named(self, group: Any) -> tuple[str, bool]:
        """Return a layer's name, empty for what is none, and whether what stands in it is seen."""
        if not isinstance(group, pikepdf.Dictionary):
            return "", True
        if group.get("/Type") != Name.OCMD:
            return str(group.get("/Name", ""))[:100], group.objgen not in self.off
        members = group.get("/OCGs")
        listed = list(members) if isinstance(members, pikepdf.Array) else [members]
        told = [self.named(member) for member in listed[:MOST_PARENTS] if _is_layer(member)]
        if not told:
            return "", True
        seen = [is_seen for _, is_seen in told]
        policy = str(group.get("/P", "/AnyOn"))
        is_seen = {"/AllOn": all(seen), "/AnyOff": not all(seen), "/AllOff": not any(seen)}.get(policy, any(seen))
        return told[0][0], is_seen


@dataclass(frozen=True, slots=True)
class PdfPage:
    """A page; `to_mm` leads from its user space to millimetres as it is seen, the origin at its lower left, y upwards.

    `source` is the file, which has to live as long as its objects are read.
    """

    number: int
    page: Any
    resources: Any
    to_mm: Matrix
    width_mm: float
    height_mm: float
    layers: PdfLayers
    source: pikepdf.Pdf


def opened(data: bytes) -> tuple[tuple[PdfPage, ...], tuple[Finding, ...]]:
    """Return the pages of a PDF and what was doubted.

    Raises:
        Refused: no PDF, damaged, locked, without pages or with too many.
    """
    if b"%PDF-" not in data[:1024]:
        raise refuse("pdf.not-pdf", "file", "The file is no PDF.", "Save the drawing as a PDF.")
    try:
        pdf = pikepdf.open(BytesIO(data))
    except pikepdf.PasswordError:
        raise _locked("The PDF is locked by a password.") from None
    except (pikepdf.PdfError, ValueError, OverflowError) as error:
        raise broken(str(error)) from None
    if pdf.is_encrypted:
        raise _locked("The PDF opens without a password, yet it is locked against taking out what it draws.")
    try:
        count = len(pdf.pages)
        if not 0 < count <= MOST_PAGES:
            raise refuse(
                "pdf.pages",
                "file",
                f"The PDF has {count} pages; 1 to {MOST_PAGES} are read.",
                "Save only the pattern's.",
            )
        layers = _layers(pdf)
        pages = tuple(_page(pdf, page.obj, number, layers) for number, page in enumerate(pdf.pages, start=1))
    except (pikepdf.PdfError, ValueError, TypeError, KeyError, OverflowError, AttributeError) as error:
        raise broken(str(error)) from None
    mended = (
        warn(
            "pdf.mended",
            "file",
            "The PDF is damaged, and was read as well as it can be.",
            "Check that nothing is missing, or save it again from the program that made it.",
        ),
    )
    return pages, mended if pdf.get_warnings() else ()


def content_of(streams: Any, budget: Budget) -> bytes:
    """Return the operators of a page's content or of a form, decoded within the budget.

    Raises:
        Refused: more than the budget, or damaged.
    """
    parts = []
    for stream in list(streams) if isinstance(streams, pikepdf.Array) else [streams]:
        if isinstance(stream, pikepdf.Stream):
            parts.append(_decoded(stream, budget))
    return b"\n".join(parts)


def _decoded(stream: pikepdf.Stream, budget: Budget) -> bytes:
    """What a stream holds; the usual packing is undone step by step, so that a bomb is met before it goes off."""
    try:
        if (
            stream.get("/Filter") in (Name.FlateDecode, pikepdf.Array([Name.FlateDecode]))
            and "/DecodeParms" not in stream
        ):
            unpack = zlib.decompressobj()
            found = unpack.decompress(stream.read_raw_bytes(), budget.content_bytes + 1)
        else:
            found = stream.read_bytes()
    except (pikepdf.PdfError, zlib.error) as error:
        raise broken(str(error)) from None
    budget.take(content_bytes=len(found))
    return found


def _locked(words: str) -> Refused:
    return refuse("pdf.locked", "file", words, "Hand in one that is not: whoever made it can save it unlocked.")


def broken(error: str) -> Refused:
    """Return the refusal of a damaged file, with what the library says of it."""
    plain = _STREAM.sub("", error.splitlines()[0])[:100] if error else "it ends too early"
    return refuse("pdf.broken", "file", f"The PDF is damaged: {plain}.", "Save it again from the program that made it.")


def _is_layer(group: Any) -> bool:
    return isinstance(group, pikepdf.Dictionary) and group.get("/Type") != Name.OCMD


def _layers(pdf: pikepdf.Pdf) -> PdfLayers:
    properties = pdf.Root.get("/OCProperties")
    if not isinstance(properties, pikepdf.Dictionary) or not isinstance(properties.get("/D"), pikepdf.Dictionary):
        return PdfLayers()
    default = properties["/D"]
    off = {group.objgen for group in _groups(default.get("/OFF"))}
    if default.get("/BaseState") == Name.OFF:
        every = {group.objgen for group in _groups(properties.get("/OCGs"))}
        off |= every - {group.objgen for group in _groups(default.get("/ON"))}
    return PdfLayers(off=frozenset(off))


def _groups(listed: Any) -> Iterator[Any]:
    if isinstance(listed, pikepdf.Array):
        yield from (group for group in listed if isinstance(group, pikepdf.Dictionary))


def _page(pdf: pikepdf.Pdf, page: Any, number: int, layers: PdfLayers) -> PdfPage:
    media = _box(_inherited(page, "/MediaBox"))
    if media is None:
        raise refuse("pdf.page-size", f"page {number}", f"Page {number} says no size.", "Save the PDF again.")
    crop = _box(_inherited(page, "/CropBox")) or media
    left, bottom = max(media[0], crop[0]), max(media[1], crop[1])
    right, top = min(media[2], crop[2]), min(media[3], crop[3])
    if right <= left or top <= bottom:
        left, bottom, right, top = media
    unit = number_or(page.get("/UserUnit"), 1.0)
    scale = MM_PER_POINT * (unit if unit > 0 else 1.0)
    width, height = (right - left) * scale, (top - bottom) * scale
    turn = round(number_or(_inherited(page, "/Rotate"), 0.0) / 90) % 4
    upright = (scale, 0.0, 0.0, scale, -left * scale, -bottom * scale)
    # A page turned clockwise by a quarter shows its left edge on top (ISO 32000-2, table 31, Rotate).
    turns: tuple[Matrix, ...] = (
        (1.0, 0.0, 0.0, 1.0, 0.0, 0.0),
        (0.0, -1.0, 1.0, 0.0, 0.0, width),
        (-1.0, 0.0, 0.0, -1.0, width, height),
        (0.0, 1.0, -1.0, 0.0, height, 0.0),
    )
    seen = (height, width) if turn % 2 else (width, height)
    resources = _inherited(page, "/Resources")
    if not isinstance(resources, pikepdf.Dictionary):
        resources = pikepdf.Dictionary()
    return PdfPage(number, page, resources, through(upright, turns[turn]), *seen, layers, pdf)


def _inherited(page: Any, key: str) -> Any:
    """What a page says, or the nearest node of the tree above it."""
    node = page
    for _ in range(MOST_PARENTS):
        if not isinstance(node, pikepdf.Dictionary):
            return None
        if key in node:
            return node[key]
        node = node.get("/Parent")
    return None


def _box(said: Any) -> tuple[float, float, float, float] | None:
    if not isinstance(said, pikepdf.Array) or len(said) != 4:
        return None
    x0, y0, x1, y1 = (number_or(number, math.nan) for number in said)
    box = (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))
    return box if all(map(math.isfinite, box)) and box[2] > box[0] and box[3] > box[1] else None


def number_or(said: Any, otherwise: float) -> float:
    """Return a finite number that a file says, or another where it says none."""
    try:
        found = float(said)
    except (TypeError, ValueError, OverflowError):
        return otherwise
    return found if math.isfinite(found) else otherwise
