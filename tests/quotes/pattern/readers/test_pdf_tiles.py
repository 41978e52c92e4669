"""Pages of a pattern for printing at home, put together: the figures of the panels are known, the pages reportlab's.

Kinds of paper, marks, overlaps and page names as home-print patterns bear them (common practice, no source).
"""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from io import BytesIO
from itertools import pairwise

import pytest
from reportlab.pdfgen.canvas import Canvas
from support_pdf import A4, LETTER, MM, areas, draw_panels, drawn_panels, one_page, polyline, tiled

from inventory.ground.findings import Finding, Refused, stops
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.geometry import ring_area_mm2
from quotes.pattern.readers.pdf import read_sheet
from quotes.pattern.readers.pdf_tile_labels import namings_of
from quotes.pattern.sheet import Label, Sheet
from quotes.pattern.taking.sheet_sizes import of_size, sizes_of

PANELS = drawn_panels()
WIDTH_MM = max(x for panel in PANELS for x, _ in panel.ring) + 20
HEIGHT_MM = 320.0
draw = partial(draw_panels, panels=PANELS)
tiles = partial(tiled, draw, width_mm=WIDTH_MM, height_mm=HEIGHT_MM)


def letter_first(row: int, column: int, _: int, __: int) -> str:
    return f"{'ABCDEFG'[row]}{column + 1}"


def column_letter(row: int, column: int, _: int, __: int) -> str:
    return f"{'ABCDEFG'[column]}{row + 1}"


def counted(row: int, column: int, rows: int, columns: int) -> str:
    return f"Page {row * columns + column + 1} of {rows * columns}"


def spoken(row: int, column: int, _: int, __: int) -> str:
    return f"row {row + 1} col {column + 1}"


def read(data: bytes) -> Sheet:
    return read_sheet(data, ReadOptions())


def refused(data: bytes) -> tuple[Finding, ...]:
    with pytest.raises(Refused) as refusal:
        read(data)
    return refusal.value.findings


def measured(sheet: Sheet) -> list[float]:
    return sorted(ring_area_mm2(stroke.line) for stroke in sheet.strokes if stroke.is_closed)


def is_whole(sheet: Sheet) -> bool:
    """All panels closed and of their size, all waists there, numbers where they belong, nothing more."""
    rings = [stroke for stroke in sheet.strokes if stroke.is_closed]
    waists = [stroke for stroke in sheet.strokes if not stroke.is_closed]
    return (
        measured(sheet) == pytest.approx(sorted(areas(PANELS)), rel=1e-4)
        and len(rings) == len(waists) == len(PANELS)
        and sorted(label.text for label in sheet.labels) == [str(panel.number) for panel in PANELS]
    )


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("overlap_mm", [0.0, 12.0])
@pytest.mark.parametrize("name", [letter_first, column_letter, counted, spoken, None])
@pytest.mark.parametrize("marks", ["frame", "crosses", "none"])
def test_tiles_of_all_common_kinds_become_the_drawing(
    paper: tuple[float, float], overlap_mm: float, name: Callable[[int, int, int, int], str] | None, marks: str
) -> None:
    sheet = read(
        tiles(paper=paper, overlap_mm=overlap_mm, name=name, frame=marks == "frame", crosses=marks == "crosses")
    )
    assert is_whole(sheet)
    (told,) = sheet.findings
    assert (told.code, told.severity.value) == ("pdf.tiles", "note")
    assert "0.0 mm" in told.message


def corners(canvas: Canvas, left: float, bottom: float, right: float, top: float) -> None:
    for x, inward in ((left, 8), (right, -8)):
        for y, upward in ((bottom, 8), (top, -8)):
            polyline(canvas, ((x + inward, y), (x, y), (x, y + upward)), close=False)


def crop_marks(canvas: Canvas, left: float, bottom: float, right: float, top: float) -> None:
    for x, outward in ((left, -1), (right, 1)):
        for y, downward in ((bottom, -1), (top, 1)):
            polyline(canvas, ((x + outward, y), (x + 6 * outward, y)), close=False)
            polyline(canvas, ((x, y + downward), (x, y + 6 * downward)), close=False)


def rings_at_corners(canvas: Canvas, left: float, bottom: float, right: float, top: float) -> None:
    for x in (left, right):
        for y in (bottom, top):
            canvas.circle(x * MM, y * MM, 4 * MM)


def four_sides(canvas: Canvas, left: float, bottom: float, right: float, top: float) -> None:
    ends = ((left, bottom), (right, bottom), (right, top), (left, top), (left, bottom))
    for side in pairwise(ends):
        polyline(canvas, side, close=False)


@pytest.mark.parametrize("mark", [corners, crop_marks, rings_at_corners, four_sides])
@pytest.mark.parametrize("overlap_mm", [0.0, 12.0])
def test_marks_of_all_common_kinds_say_where_a_cell_ends(
    mark: Callable[[Canvas, float, float, float, float], None], overlap_mm: float
) -> None:
    assert is_whole(read(tiles(frame=False, mark=mark, overlap_mm=overlap_mm)))


def test_words_for_joining_and_what_all_pages_repeat_are_no_words_of_the_drawing() -> None:
    def furnish(canvas: Canvas, row: int, column: int, rows: int, columns: int) -> None:
        here = row * columns + column + 1
        canvas.setFont("Helvetica", 9)
        canvas.drawString(150 * MM, 3 * MM, "Willow, an underbust")
        if column < columns - 1:
            canvas.drawString(170 * MM, 70 * MM, f"join to page {here + 1}")
            canvas.drawString(194 * MM, 130 * MM, str(here + 1))
        if column:
            canvas.drawString(12 * MM, 130 * MM, str(here - 1))
            canvas.drawString(12 * MM, 70 * MM, f"→ {here - 1}")

    assert is_whole(read(tiles(name=counted, furnish=furnish)))


def test_a_cover_is_left_out_and_said() -> None:
    def cover(canvas: Canvas) -> None:
        canvas.drawString(100, 700, "Read all of this first.")
        canvas.rect(100, 100, 300, 200)
        canvas.line(100, 150, 300, 180)

    for name in (letter_first, counted, None):
        sheet = read(tiles(name=name, before=cover))
        assert measured(sheet) == pytest.approx(sorted(areas(PANELS)), rel=1e-4)
        assert [(found.code, found.where) for found in sheet.findings[1:]] == [("pdf.page-left-out", "page 1")]


def test_a_cover_that_counts_itself_is_left_out() -> None:
    def cover(canvas: Canvas) -> None:
        canvas.drawString(100, 700, "Read all of this first.")
        canvas.rect(100, 100, 300, 200)
        canvas.drawString(30, 30, "Page 1 of 9")

    def after_it(row: int, column: int, _: int, columns: int) -> str:
        return f"Page {row * columns + column + 2} of 9"

    sheet = read(tiles(name=after_it, before=cover))
    assert measured(sheet) == pytest.approx(sorted(areas(PANELS)), rel=1e-4)
    (found,) = stops(refused(tiles(name=after_it, before=cover, left_out=[(1, 3)])))
    assert found.message == "Page 9 of 9 is missing."


@pytest.mark.parametrize(
    ("name", "left_out", "called"),
    [
        (letter_first, (0, 1), "Page A2 is missing."),
        (letter_first, (1, 3), "Page B4 is missing."),
        (column_letter, (1, 0), "Page A2 is missing."),
        (spoken, (1, 1), "Page row 2 column 2 is missing."),
        (counted, (0, 0), "Page 1 of 8 is missing."),
        (counted, (1, 0), "Page 5 of 8 is missing."),
        (counted, (1, 3), "Page 8 of 8 is missing."),
    ],
)
def test_a_missing_page_is_named(
    name: Callable[[int, int, int, int], str], left_out: tuple[int, int], called: str
) -> None:
    (found,) = refused(tiles(name=name, left_out=[left_out]))
    assert (found.code, found.message) == ("pdf.page-missing", called)


def test_a_missing_page_without_names_is_said_too() -> None:
    (found,) = refused(tiles(left_out=[(0, 1)]))
    assert found.code == "pdf.tiles-unclear"
    assert "a page is missing" in found.message


@pytest.mark.parametrize(
    ("shift", "severity"),
    [((0.0, 0.4), None), ((0.0, 2.0), "warn"), ((1.8, 0.0), "warn"), ((0.0, 5.0), "stop"), ((5.0, 0.0), "stop")],
)
def test_the_misfit_of_a_page_is_told(shift: tuple[float, float], severity: str | None) -> None:
    data = tiles(name=letter_first, shifts={(1, 1): shift})
    findings = refused(data) if severity == "stop" else read(data).findings
    told = [found for found in findings if found.code == "pdf.tile-misfit"]
    assert {found.severity.value for found in told} == ({severity} if severity else set())
    assert all("B2" in found.where and " mm apart" in found.message for found in told)


def test_a_small_misfit_leaves_whole_outlines() -> None:
    sheet = read(tiles(name=letter_first, shifts={(1, 1): (0.3, 0.3)}))
    assert measured(sheet) == pytest.approx(sorted(areas(PANELS)), rel=0.01)


def test_dashes_colours_and_sizes_go_over_the_borders() -> None:
    dashes = {"8": ("#ff0000", (4, 2)), "10": ("#008000", ()), "12": ("#0000ff", (8, 2, 1, 2))}

    def nested(canvas: Canvas) -> None:
        for step, (name, (colour, dash)) in enumerate(dashes.items()):
            canvas.setStrokeColor(colour)
            canvas.setDash(*([list(dash)] if dash else []))
            for panel in PANELS:
                middle = panel.middle[0]
                ring = tuple((middle + (x - middle) * (1 + 0.05 * step), y * (1 + 0.004 * step)) for x, y in panel.ring)
                polyline(canvas, ring, close=True)
            level = 300 - 10 * step
            polyline(canvas, ((WIDTH_MM + 5, level), (WIDTH_MM + 35, level)), close=False)
            canvas.setFont("Helvetica", 10)
            canvas.drawString((WIDTH_MM + 39) * MM, (level - 1) * MM, f"Size {name}")

    sheet = read(tiled(nested, width_mm=WIDTH_MM + 60, height_mm=HEIGHT_MM, name=letter_first))
    assert sizes_of(sheet) == ("8", "10", "12")
    for step, name in enumerate(dashes):
        scaled = [area * (1 + 0.05 * step) * (1 + 0.004 * step) for area in areas(PANELS)]
        assert measured(of_size(sheet, name)) == pytest.approx(sorted(scaled), rel=1e-4)


def test_one_page_alone_is_taken_as_it_is() -> None:
    assert read(one_page(draw)).findings == ()


def test_pages_of_which_lines_run_off_without_a_neighbour_are_unclear() -> None:
    out = BytesIO()
    canvas = Canvas(out, pagesize=A4)
    for height in (100, 160, 220):
        canvas.line(50 * MM, height * MM, 300 * MM, (height + 9) * MM)
        canvas.rect(50 * MM, 50 * MM, 20 * MM, height / 3 * MM)
        canvas.showPage()
    canvas.save()
    assert [found.code for found in refused(out.getvalue())] == ["pdf.tiles-unclear"]


@pytest.mark.parametrize(
    ("texts", "kind", "places"),
    [
        (("Row 1, Column 2", "row 2 col 1"), "row and column", [(1, 2), (2, 1)]),
        (("Column B Row 3", "Spalte A Zeile 1"), "row and column", [(3, 2), (1, 1)]),
        (("A1", "Page C12"), "letter and number", [(1, 1), (3, 12)]),
        (("Seite 3 von 12", "4/12"), "count", [(3, 0), (4, 0)]),
        (("Page 3", "page 7"), "count", [(3, 0), (7, 0)]),
    ],
)
def test_names_of_pages_are_read(texts: tuple[str, ...], kind: str, places: list[tuple[int, int]]) -> None:
    pages = [[Label(text=text, at=(0.0, 0.0), where="page", height=3.0)] for text in texts]
    (naming,) = namings_of(pages, 2)
    assert (naming.kind, list(naming.places.values())) == (kind, places)


@pytest.mark.parametrize(
    "texts", [("A4", "A4"), ("join to page 2", "join to page 1"), ("panel 1", "panel 2"), ("3", "4")]
)
def test_other_words_are_no_names_of_pages(texts: tuple[str, ...]) -> None:
    pages = [[Label(text=text, at=(0.0, 0.0), where="page", height=3.0)] for text in texts]
    assert namings_of(pages, 2) == ()


def test_a_straight_edge_left_free_by_the_frame_is_no_cut_of_a_page_to_the_left() -> None:
    above = HEIGHT_MM - 40
    column = [
        replace(
            panel,
            ring=tuple((x - dx, y + dy) for x, y in panel.ring),
            waist=tuple((x - dx, y + dy) for x, y in panel.waist),
            middle=(panel.middle[0] - dx, panel.middle[1] + dy),
        )
        for panel, dx, dy in ((PANELS[0], 0.0, above), (PANELS[1], min(x for x, _ in PANELS[1].ring) - 25, 0.0))
    ]

    def whole_frame(canvas: Canvas, *_: int) -> None:
        canvas.rect(10 * MM, 10 * MM, A4[0] - 20 * MM, A4[1] - 20 * MM)

    sheet = read(
        tiled(
            partial(draw_panels, panels=column),
            width_mm=170,
            height_mm=above + HEIGHT_MM,
            overlap_mm=10,
            frame=False,
            furnish=whole_frame,
            name=column_letter,
        )
    )
    assert measured(sheet) == pytest.approx(sorted(areas(column)), rel=1e-4)
