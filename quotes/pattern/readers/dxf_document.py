"""Opening a DXF file: whole or refused, its unit, how much its blocks come to, the text of an entity."""

import io
import math
import re
from collections.abc import Iterable, Iterator
from fractions import Fraction

from ezdxf import filemanagement
from ezdxf.document import Drawing as Document
from ezdxf.entities.dxfentity import DXFEntity
from ezdxf.entities.dxfgfx import DXFGraphic
from ezdxf.entities.insert import Insert
from ezdxf.entities.mtext import MText

from inventory.ground.findings import Finding, refuse
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers.text import overruled_units

__all__ = ["is_hidden", "mm_per_unit", "open_document", "text_of", "within_budget"]

MOST_ENTITIES = 60_000
_INSUNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 10: "yd"}
_MM_PER = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "in": Fraction(254, 10),
    "ft": Fraction(3048, 10),
    "m": Fraction(1000),
    "yd": Fraction(9144, 10),
    "pt": Fraction(254, 720),
    "px": Fraction(254, 960),
}
_EXCEPTION_NAME = re.compile(r"^(?:\w*(?:Error|Exception):?\s*)+")
_MEASURES = frozenset(map(str, (*range(10, 60), *range(140, 150), *range(210, 240))))
"""Group codes of floating-point values (DXF reference, group code value types)."""
_UNITS_TEXT = re.compile(r"\bUNITS\s*:\s*(METRIC|ENGLISH)\b", re.IGNORECASE)


def open_document(data: bytes) -> Document:
    """Return the document of a text DXF. Raises Refused for what is none, was cut off, or is broken."""
    if data[:22].startswith(b"AutoCAD Binary DXF"):
        raise refuse("dxf.binary", "file", "This is a binary DXF; only text DXF is read.", "Save it as ASCII DXF.")
    if b"\0" in data[:4096] or b"SECTION" not in data:
        raise refuse("dxf.not-dxf", "file", "This is no DXF file.", "Save the drawing as ASCII DXF.")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("cp1252", errors="replace")
    if text.rstrip().rpartition("\n")[2].strip() != "EOF":
        raise refuse(
            "dxf.cut-off", "file", "The DXF ends before its end mark: it was cut off.", "Save or send it again."
        )
    text = text.replace("\r\n", "\n")
    _must_be_finite(text)
    try:
        document = filemanagement.read(io.StringIO(text))
        auditor = document.audit()
    except RecursionError:
        raise refuse(
            "dxf.loop", "file", "A block of the DXF holds itself.", "Explode the blocks and save again."
        ) from None
    except Exception as error:  # noqa: BLE001  (the library raises many kinds for a broken file)
        raise refuse(
            "dxf.broken", "file", f"The DXF cannot be read: {_plain(error)}.", "Save it again as ASCII DXF."
        ) from None
    if auditor.has_errors:
        raise refuse(
            "dxf.broken",
            "file",
            f"The DXF has a fault: {_plain(auditor.errors[0].message)}.",
            "Save it again as ASCII DXF.",
        )
    return document


def _must_be_finite(text: str) -> None:
    """Refuse what is written as a number and is none: the library goes on with it without end."""
    # Lines as the library counts them: what else Python takes for the end of one may stand in a text.
    lines = text.split("\n")
    for at in range(0, len(lines) - 1, 2):
        if lines[at].strip() in _MEASURES:
            try:
                is_finite = math.isfinite(float(lines[at + 1]))
            except ValueError:
                # The library's own reader says what it makes of it.
                continue
            if not is_finite:
                raise refuse(
                    "pattern.not-finite",
                    f"file, line {at + 2}",
                    f"{lines[at + 1].strip()[:20]} is not a finite number.",
                    "Draw the line again.",
                )


def _plain(error: object) -> str:
    """The library's sentence without the name of the exception that it often begins with."""
    words = " ".join(str(error).split())
    return _EXCEPTION_NAME.sub("", words)[:120].rstrip(".") or "its structure is broken"


def mm_per_unit(document: Document, data: bytes, options: ReadOptions) -> tuple[float, tuple[Finding, ...]]:
    """Millimetres per drawing unit, as the option, the header or the texts say; refused where none or two do."""
    said: dict[str, str] = {}
    # The library puts a unit of its own into a file without a header, so the file itself is asked.
    code = int(document.header.get("$INSUNITS", 0)) if b"$INSUNITS" in data else 0
    if code in _INSUNITS:
        said["$INSUNITS"] = _INSUNITS[code]
    elif code and options.units is None:
        raise refuse(
            "file.unknown-units",
            "$INSUNITS",
            f"Drawing units of code {code} are not read.",
            "Say --units mm, cm or in.",
        )
    for text in _all_texts(document):
        for word in _UNITS_TEXT.findall(text):
            said[f"text UNITS: {word.upper()}"] = "mm" if word.upper() == "METRIC" else "in"
    if options.units is not None:
        overruled = [found for place, unit in said.items() for found in overruled_units(unit, options.units, place)]
        return float(_MM_PER[options.units]), tuple(overruled)
    if len(set(said.values())) > 1:
        words = ", ".join(f"{place} says {unit}" for place, unit in said.items())
        raise refuse(
            "file.units-contradict", "file", f"The units contradict each other: {words}.", "Say --units mm, cm or in."
        )
    if not said:
        raise refuse("file.no-units", "file", "The drawing says no units.", "Say --units mm, cm or in.")
    return float(_MM_PER[next(iter(said.values()))]), ()


def _all_texts(document: Document) -> Iterator[str]:
    for layout in (document.modelspace(), *document.blocks):
        for entity in layout:
            text = text_of(entity)
            if text:
                yield text


def is_hidden(document: Document, entity: DXFEntity, layer: str = "") -> bool:
    """Tell whether an entity is not seen: by itself, or because its layer is off or frozen, or as a kind that nobody knows.

    `layer` is that on which it is seen, where it takes over another's. What a block holds is seen on its own layers while
    that of its insert is off, and hidden with it while that is frozen.
    """
    if not isinstance(entity, DXFGraphic) or entity.dxf.get("invisible", 0):
        return True
    layer = layer or str(entity.dxf.get("layer", "0"))
    if layer not in document.layers:
        return False
    of_layer = document.layers.get(layer)
    return bool((of_layer.is_off() and not isinstance(entity, Insert)) or of_layer.is_frozen())


def within_budget(document: Document, entities: list[DXFEntity]) -> None:
    """Count what the inserts come to before any of them is resolved; copies of copies grow without bound.

    No block holds itself any more: `open_document` refuses such a file.
    """
    sizes: dict[str, int] = {}

    def size(name: str) -> int:
        if name not in sizes:
            block = document.blocks.get(name)
            sizes[name] = 0 if block is None else total(block)
        return sizes[name]

    def total(rows: Iterable[DXFEntity]) -> int:
        count = 0
        for entity in rows:
            copies = 1
            if isinstance(entity, Insert):
                copies = max(1, int(entity.mcount)) * max(1, size(entity.dxf.name))
            count += copies
            if count > MOST_ENTITIES:
                raise refuse(
                    "dxf.too-many",
                    "file",
                    f"The drawing has more than {MOST_ENTITIES} lines, counting every copy.",
                    "Save only the pattern's panels.",
                )
        return count

    total(entities)


def text_of(entity: DXFEntity) -> str:
    """Return what a text entity says; empty for any other."""
    kind = entity.dxftype()
    if kind in ("TEXT", "ATTRIB"):
        return str(entity.dxf.text)
    if isinstance(entity, MText):
        return str(entity.plain_text())
    return ""
