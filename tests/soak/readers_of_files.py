"""Every reader of files from outside, as one function of the file's bytes, with files that it reads well."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from io import BytesIO
from pathlib import Path

from openpyxl import Workbook, load_workbook
from support_pdf import draw_panels, drawn_panels, one_page, tiled
from support_pictures import photograph

from inventory.counting.count_sheet import SheetLine, returned_counts, stocktake_sheet
from inventory.ground.codec import plain
from inventory.ground.findings import refuse
from inventory.ground.materials import StockUnit
from inventory.ground.money import currency_of
from inventory.ground.photo_files import photo_file
from inventory.ground.reading import json_data
from inventory.replenish import answered, printed_plan, read_plan_file
from inventory.spreadsheet.rows import cells_kept, kept_cells
from inventory.spreadsheet.table import Books, read_table
from inventory.spreadsheet.tables import asides_of, read_file, table_rows
from inventory.spreadsheet.words import guess_columns
from quotes.commission.commission_file import commission_from
from quotes.commission.quote import quote_commission
from quotes.construction.construction_json import read_construction
from quotes.construction.shipped import __file__ as shipped_file
from quotes.labour.hours import hours_document, learn, read_log
from quotes.pattern import readers
from quotes.pattern.drawing import Drawing, Reading, ReadOptions
from quotes.pattern.pattern_json import pattern_document
from quotes.pattern.readers import KINDS
from quotes.pattern.readers.child import read_here, sheet_here, take_here
from quotes.seal.sealing import sealed_quotation

__all__ = ["READERS_OF_FILES", "ReaderOfFiles"]

FIXTURES = Path(__file__).parents[2] / "fixtures"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReaderOfFiles:
    """`read` raises Refused or returns, and nothing else; `seeds` are read well, or refused on purpose."""

    read: Callable[[bytes], None]
    seeds: tuple[bytes, ...]


def _must_be_written(told: object) -> None:
    """What was read can be printed and kept: no NaN, no half characters."""
    json.dumps(plain(told), ensure_ascii=False, allow_nan=False).encode()


def _pattern(data: bytes, kind: str) -> None:
    for assembled in (False, True):
        found = read_here(data, kind, "soak", ReadOptions(), assembled)
        if isinstance(found, Reading):
            _must_be_written([pattern_document(found.pattern), plain(found.findings)])
        else:
            assert isinstance(found, Drawing)
            _must_be_written([found.name, *(panel.where for panel in found.panels), plain(found.findings)])


def _drawing(data: bytes, kind: str) -> None:
    """A drawing read freely, whether or not the strict reader would have understood it."""
    sheet = sheet_here(data, kind, ReadOptions())
    _must_be_written([plain(sheet.strokes), plain(sheet.labels), plain(sheet.notches)])
    taken = take_here(data, kind, ReadOptions())
    _must_be_written([plain(taken.outlines), plain(taken.scales), plain(taken.findings)])


def _read_in_this_process(
    data: bytes, kind: str, name: str, options: ReadOptions, *, assembled: bool
) -> Drawing | Reading:
    return read_here(data, kind, name, options, assembled)


def _commission(data: bytes) -> None:
    readers.read_in_child = _read_in_this_process
    document = json_data(data)
    commission = commission_from(document, folder=FIXTURES / "commissions", studio_prices=tuple)
    _must_be_written(sealed_quotation(quote_commission(commission)))


def _plan(data: bytes) -> None:
    _must_be_written(printed_plan(answered(read_plan_file(json_data(data)), seconds=1.0)))


def _log(data: bytes) -> None:
    jobs, nexts = read_log(json_data(data))
    _must_be_written(hours_document(learn(jobs), nexts))


def _construction(data: bytes) -> None:
    read_construction(json_data(data))


def _materials(data: bytes, ending: str) -> None:
    found = read_file(data, f"soak{ending}")
    books = Books(currency=currency_of("EUR"), suppliers={"merton": "merton"})
    for chosen in found.tables:
        table = cells_kept(kept_cells(table_rows(found.pages, chosen)))
        reading = read_table(table, guess_columns(table[0]), first_row=chosen.top, books=books)
        asides = asides_of(found.pages, found.tables, chosen)
        _must_be_written([*reading.rows, *reading.findings, *reading.kinds, *reading.left_out, *asides])


def _counts(data: bytes) -> None:
    _must_be_written(returned_counts(data, "soak.xlsx", 3, {1: StockUnit.METRE, 2: StockUnit.EACH}))


def _photograph(data: bytes) -> None:
    try:
        photo_file(data)
    except ValueError as refusal:
        raise refuse("photo", "file", str(refusal)) from None


def _patterns(kind: str) -> ReaderOfFiles:
    # Large DXF files are read too slowly for ten thousand of them.
    seeds = tuple(map(_small_dxf, _SHAPES)) if kind == ".dxf" else _files("patterns", kind)
    if kind == ".pdf":
        seeds = _drawn_pdfs()
    if kind == ".svg":
        seeds += tuple(seed.replace(b"<path ", _MOVED, 6) for seed in seeds)
    return ReaderOfFiles(read=partial(_pattern, kind=kind), seeds=seeds)


def _drawn_pdfs() -> tuple[bytes, ...]:
    """Two panels on one page and on tiles, not packed, so that harm meets what they draw."""
    panels = drawn_panels()[:2]
    draw = partial(draw_panels, panels=panels)
    whole = one_page(draw, width_mm=300, height_mm=330)
    return whole, tiled(draw, width_mm=250, height_mm=330, name=lambda row, column, *_: f"{'AB'[row]}{column + 1}")


_MOVED = b'<path transform="matrix(1 0 0 1 5 0) translate(3,4) rotate(0 1 2) scale(1) skewX(0)" '
_CORNERS = ((0, -150), (70, -150), (60, 0), (70, 140), (0, 140), (5, 0))
_SHAPES = ("polyline", "lines", "lwpolyline", "curves")


def _small_dxf(shape: str) -> bytes:
    """Two panels as blocks, drawn with one of the kinds of lines."""
    tags: list[object] = [0, "SECTION", 2, "HEADER", 9, "$ACADVER", 1, "AC1015", 9, "$INSUNITS", 70, 4, 0, "ENDSEC"]
    tags += [0, "SECTION", 2, "BLOCKS"]
    for number in (1, 2):
        tags += [
            0,
            "BLOCK",
            8,
            0,
            2,
            f"PANEL-{number}",
            70,
            0,
            10,
            0,
            20,
            0,
            30,
            0,
            3,
            f"PANEL-{number}",
            *_outline(shape),
        ]
        tags += [0, "POINT", 8, 4, 10, 0, 20, 50, 0, "LINE", 8, 7, 10, 30, 20, -40, 11, 30, 21, 40]
        tags += [0, "TEXT", 8, 15, 10, 30, 20, 0, 40, 5, 1, f"Piece Name: Panel {number}", 0, "TEXT", 8, 15]
        tags += [10, 30, 20, 9, 40, 5, 1, "Quantity: 2", 0, "ENDBLK", 8, 0]
    tags += [0, "ENDSEC", 0, "SECTION", 2, "ENTITIES"]
    for number in (1, 2):
        tags += [0, "INSERT", 8, 0, 2, f"PANEL-{number}", 10, number * 200, 20, 0, 41, 1, 42, 1, 50, 0]
    tags += [0, "ENDSEC", 0, "EOF"]
    return "".join(f"{tag}\n" for tag in tags).encode()


_DRAWN_DXF = """
0 SECTION | 2 HEADER | 9 $ACADVER | 1 AC1015 | 9 $INSUNITS | 70 5 | 0 ENDSEC
0 SECTION | 2 TABLES
0 TABLE | 2 LTYPE | 70 1 | 0 LTYPE | 100 AcDbSymbolTableRecord | 100 AcDbLinetypeTableRecord | 2 DASHED | 70 0 | 3 - -
72 65 | 73 2 | 40 9 | 49 6 | 74 0 | 49 -3 | 74 0 | 0 ENDTAB
0 TABLE | 2 LAYER | 70 2
0 LAYER | 100 AcDbSymbolTableRecord | 100 AcDbLayerTableRecord | 2 size 10 | 70 0 | 62 1 | 6 DASHED
0 LAYER | 100 AcDbSymbolTableRecord | 100 AcDbLayerTableRecord | 2 size 12 | 70 0 | 62 3 | 6 CONTINUOUS
0 ENDTAB | 0 ENDSEC
0 SECTION | 2 BLOCKS | 0 BLOCK | 8 0 | 2 front | 70 0 | 10 0 | 20 0 | 30 0 | 3 front
0 LWPOLYLINE | 100 AcDbEntity | 8 size 10 | 100 AcDbPolyline | 90 5 | 70 1
10 0 | 20 0 | 42 0.1 | 10 7 | 20 0 | 42 0 | 10 6 | 20 15 | 10 7 | 20 29 | 10 0 | 20 29
0 CIRCLE | 100 AcDbEntity | 8 marks | 62 2 | 100 AcDbCircle | 10 3 | 20 2 | 40 0.4
0 ELLIPSE | 100 AcDbEntity | 8 marks | 420 255 | 100 AcDbEllipse | 10 3 | 20 9 | 30 0 | 11 0.4 | 21 0 | 31 0 | 40 0.5 | 41 0 | 42 6.283
0 ENDBLK | 8 0 | 0 ENDSEC
0 SECTION | 2 ENTITIES
0 INSERT | 100 AcDbEntity | 8 size 10 | 100 AcDbBlockReference | 66 1 | 2 front | 10 0 | 20 0 | 41 1 | 42 1 | 50 10
70 2 | 71 1 | 44 20 | 45 9
0 ATTRIB | 100 AcDbEntity | 8 0 | 100 AcDbText | 10 2 | 20 2 | 40 0.6 | 1 Panel 1 | 100 AcDbAttribute | 2 NUMBER | 70 0
0 SEQEND | 8 0
0 LINE | 8 size 12 | 6 DASHED | 10 50 | 20 0 | 11 57 | 21 0
0 LINE | 8 size 12 | 6 DASHED | 10 57 | 20 0 | 11 57 | 21 29
0 LINE | 8 size 12 | 6 DASHED | 10 57 | 20 29 | 11 50 | 21 29
0 LINE | 8 size 12 | 6 DASHED | 10 50 | 20 29 | 11 50 | 21 0
0 TEXT | 100 AcDbEntity | 8 marks | 100 AcDbText | 10 52 | 20 4 | 40 0.5 | 1 2 cut 2 | 72 1 | 11 53 | 21 4 | 100 AcDbText
0 MTEXT | 100 AcDbEntity | 8 marks | 100 AcDbMText | 10 52 | 20 9 | 40 0.5 | 71 5 | 1 Side front\\Phalf scale | 50 15
0 POINT | 100 AcDbEntity | 8 4 | 100 AcDbPoint | 10 50 | 20 6
0 LWPOLYLINE | 100 AcDbEntity | 8 marks | 100 AcDbPolyline | 90 4 | 70 1
10 0 | 20 -30 | 10 5 | 20 -30 | 10 5 | 20 -25 | 10 0 | 20 -25
0 TEXT | 100 AcDbEntity | 8 marks | 100 AcDbText | 10 1 | 20 -27.5 | 40 0.5 | 1 5 cm | 100 AcDbText
0 ENDSEC | 0 EOF
"""
"""Layers with colours and dashes, texts of both kinds, blocks placed in a row, attributes, a square: code and value by code and value."""


def _drawn_dxf() -> bytes:
    """A drawing of a maker's own, in which no block is called a panel."""
    tags = (tag for line in _DRAWN_DXF.strip().splitlines() for tag in line.split(" | "))
    return "".join("{}\n{}\n".format(*tag.strip().split(" ", 1)) for tag in tags).encode()


def _outline(shape: str) -> list[object]:
    ring = [*_CORNERS, _CORNERS[0]]
    sides = list(zip(_CORNERS, ring[1:], strict=True))
    match shape:
        case "polyline":
            points = [tag for x, y in _CORNERS for tag in (0, "VERTEX", 8, 14, 10, x, 20, y, 42, 0)]
            return [0, "POLYLINE", 8, 14, 66, 1, 70, 1, *points, 0, "SEQEND", 8, 14]
        case "lwpolyline":
            points = [tag for x, y in _CORNERS for tag in (10, x, 20, y, 42, 0.1)]
            return [0, "LWPOLYLINE", 100, "AcDbEntity", 8, 14, 100, "AcDbPolyline", 90, len(_CORNERS), 70, 1, *points]
        case "lines":
            return [tag for (x, y), (u, v) in sides for tag in (0, "LINE", 8, 14, 10, x, 20, y, 11, u, 21, v)]
        case _:
            arc = [0, "ARC", 100, "AcDbEntity", 8, 14, 100, "AcDbCircle", 10, 35, 20, 140, 40, 35]
            arc += [100, "AcDbArc", 50, 0, 51, 180]
            spline: list[object] = [
                0,
                "SPLINE",
                100,
                "AcDbEntity",
                8,
                14,
                100,
                "AcDbSpline",
                70,
                8,
                71,
                3,
                72,
                8,
                73,
                4,
            ]
            spline += [tag for knot in (0, 0, 0, 0, 1, 1, 1, 1) for tag in (40, knot)]
            spline += [tag for x, y in ((0, -150), (20, -160), (50, -160), (70, -150)) for tag in (10, x, 20, y, 30, 0)]
            straight = [
                0,
                "LINE",
                8,
                14,
                10,
                0,
                20,
                -150,
                11,
                0,
                21,
                140,
                0,
                "LINE",
                8,
                14,
                10,
                70,
                20,
                -150,
                11,
                70,
                21,
                140,
            ]
            return [*arc, *spline, *straight]


def _files(folder: str, ending: str) -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for path in sorted((FIXTURES / folder).glob(f"*{ending}")))


_MATERIALS = (
    ("Name", "Kind", "Colour", "Cost per unit", "Quantity", "Length", "Width", "Dye lot", "Place", "Supplier", "Note"),
    ("Coutil", "cloth", "white", "14.50", "3 1/2", "", "150 cm", "A7", "shelf 2", "merton", "washed"),
    ("Spiral", "spiral", "", "0,35", "40", '8 1/2"', "5 mm", "", "drawer", "", ""),
    ("Coutil", "cloth", "black", "€ 15", "12,25", "", "1400", "", "", "Merton", "=1+1"),
)


_AS_KEPT = (
    ("Lager", "", "", "", "", "Name", "Menge"),
    ("Artikel", "Art", "Menge", "Preis je Einheit", "", "Knopf", "3"),
    ("Ösen 5 mm", "Ösen", "1.049 St.", "€ 0,12", "", "", ""),
    ("Drell", "Korsettstoff", "12,5\u00a0m", "1.049,60 EUR/m", "", "", ""),
    ("Summe", "", "", "1.050", "", "", ""),
)


def _csv(rows: tuple[tuple[str, ...], ...], encoding: str = "utf-8") -> bytes:
    return "\n".join(";".join(row) for row in rows).encode(encoding)


def _xlsx() -> bytes:
    book, out = Workbook(), BytesIO()
    for row in _MATERIALS:
        book.active.append(row)
    second = book.create_sheet("Lager")
    for row in _AS_KEPT:
        second.append(row)
    book.save(out)
    return out.getvalue()


def _count_sheet() -> bytes:
    """A sheet as it went out, and came back with its counts."""
    units = ((1, StockUnit.METRE), (2, StockUnit.EACH))
    lines = [
        SheetLine(line=pk, place="shelf", material="Coutil", lot="A", unit=unit, book=5, movement=1)
        for pk, unit in units
    ]
    book, out = load_workbook(BytesIO(stocktake_sheet(3, lines, is_blind=False))), BytesIO()
    for row, counted in ((2, 4.5), (3, 7)):
        book.active.cell(row=row, column=8, value=counted)
    book.save(out)
    return out.getvalue()


READERS_OF_FILES: Mapping[str, ReaderOfFiles] = {
    **{f"pattern{kind}": _patterns(kind) for kind in KINDS},
    "drawing.dxf": ReaderOfFiles(read=partial(_drawing, kind=".dxf"), seeds=(_drawn_dxf(), *map(_small_dxf, _SHAPES))),
    "commission": ReaderOfFiles(read=_commission, seeds=_files("commissions", ".json")),
    "plan": ReaderOfFiles(read=_plan, seeds=_files("plans", ".json")),
    "log": ReaderOfFiles(read=_log, seeds=_files("logs", ".json")),
    "construction": ReaderOfFiles(
        read=_construction, seeds=tuple(path.read_bytes() for path in sorted(Path(shipped_file).parent.glob("*.json")))
    ),
    "materials.csv": ReaderOfFiles(
        read=partial(_materials, ending=".csv"), seeds=(_csv(_MATERIALS), _csv(_AS_KEPT), _csv(_AS_KEPT, "cp1252"))
    ),
    "materials.xlsx": ReaderOfFiles(read=partial(_materials, ending=".xlsx"), seeds=(_xlsx(),)),
    "counts.xlsx": ReaderOfFiles(read=_counts, seeds=(_count_sheet(),)),
    "photograph": ReaderOfFiles(read=_photograph, seeds=tuple(photograph(kind) for kind in ("JPEG", "PNG", "WEBP"))),
}
