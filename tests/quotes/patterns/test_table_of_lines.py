"""Free drawings on the pattern table: what is open is said by one choice, and what is kept is what was drawn.

Figures from the JSON of the example patterns by the shoelace formula and by straight lines (`support_drawings`).
"""

from collections.abc import Sequence

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client as Browser
from support_drawings import (
    closed_waist,
    in_mirror,
    laid_out,
    moved_by,
    plain_dxf,
    plain_svg,
    square_svg,
    svg,
    svg_d,
    svg_text,
    turned,
)
from support_pdf import draw_panels, drawn_panels, tiled
from support_table import lay_down, say, sent_by

from quotes.models import KeptPattern, PatternRevision

PANELS = laid_out()
WAIST_MM = closed_waist()


@pytest.fixture(autouse=True)
def _read_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files are read in this process, which is faster; its limits are tried in test_confined."""
    monkeypatch.setattr("quotes.pattern.table.lying.confined", lambda call, *given, name, mend: call(*given))


def stop_codes(answer: HttpResponse) -> set[str]:
    return {found.code for found in answer.context["form"].look.stops}  # type: ignore[attr-defined]


def kept(browser: Browser, address: str) -> PatternRevision:
    answer = browser.post(f"{address}keep/", sent_by(browser.get(address)))
    assert answer.status_code == 302, answer.content.decode()
    return PatternRevision.objects.get()


def sizes() -> bytes:
    """Three sizes in layers, lying in each other: 0.94, 1 and 1.06 of the panels, each about its own middle."""
    body = []
    for name, factor in (("10", 0.94), ("12", 1.0), ("14", 1.06)):
        for panel in laid_out(gap=90):
            x, y = panel.middle
            grown = panel.moved(lambda p, x=x, y=y, f=factor: (x + (p[0] - x) * f, y + (p[1] - y) * f))
            body.append(
                f'<g inkscape:groupmode="layer" inkscape:label="Size {name}"><path d="{svg_d(grown.ring)}"/></g>'
            )
    body += [svg_text(str(panel.number), panel.middle) for panel in laid_out(gap=90)]
    return svg(body, box=(-100, -300, 1700, 600))


def out_of_order() -> bytes:
    """Without numbers, the second and the fourth panel drawn in each other's place."""
    places: Sequence[int] = [{1: 300, 3: -300}.get(at, 0) for at in range(6)]
    return svg(plain_svg([moved_by(panel, x) for panel, x in zip(PANELS, places, strict=True)], lambda panel: ""))


WHOLE = {
    "numbers as text": ("drawing.svg", svg(plain_svg(PANELS))),
    "a test square": ("drawing.svg", svg(plain_svg(PANELS) + square_svg((0, 200), 50, "5 cm"))),
    "askew with a waist line": (
        "drawing.svg",
        svg(plain_svg([turned(panel, 12) for panel in laid_out(gap=120)]), box=(-100, -300, 1700, 600)),
    ),
    "a plain DXF": ("drawing.dxf", plain_dxf(PANELS)),
    "tiles of a PDF": (
        "drawing.pdf",
        tiled(
            lambda canvas: draw_panels(canvas, drawn_panels()),
            width_mm=1000.0,
            height_mm=340.0,
            name=lambda row, column, rows, columns: f"Row {row + 1} column {column + 1}",
        ),
    ),
}


@pytest.mark.parametrize("name", WHOLE)
def test_a_drawing_that_says_all_is_kept_as_it_is(browser: Browser, name: str):
    file, data = WHOLE[name]
    address = lay_down(browser, data, file)
    assert "closed waist <b>60.5 cm</b>" in browser.get(address).content.decode()
    revision = kept(browser, address)
    assert revision.panels.panels_per_half == 6
    assert revision.panels.closed_waist_mm == pytest.approx(WAIST_MM, rel=0.005)


OPEN = {
    "points taken for millimetres": (
        svg(plain_svg(laid_out(scale=72 / 25.4)), box=(-200, -900, 3500, 1800)),
        "pattern.waist-unbelievable",
        {"scale": f"{25.4 / 72:.9g}"},
    ),
    "a test square that contradicts": (
        svg(
            plain_svg(laid_out(scale=0.75)) + square_svg((0, 180), 37.5, "5 cm"),
        ),
        "file.units-contradict",
        {"scale": f"{4 / 3:.9g}"},
    ),
    "no numbers, out of order": (out_of_order(), "pattern.panels-without-number", {"do": "these-numbers"}),
    "two numbers in one": (
        svg([*plain_svg(PANELS), svg_text("5", (PANELS[1].middle[0], -40))]),
        "pattern.number-ambiguous",
        {"number_2": "2"},
    ),
    "several sizes": (sizes(), "pattern.several-sizes", {"size": "12"}),
    "an allowance, in or out": (
        svg([*plain_svg(PANELS), svg_text("1 cm seam allowance", (300, 250))]),
        "pattern.allowance-in-or-out",
        {"line": "stitching"},
    ),
}


@pytest.mark.parametrize("name", OPEN)
def test_what_is_open_is_said_by_one_choice(browser: Browser, name: str):
    data, code, said = OPEN[name]
    address = lay_down(browser, data)
    page = browser.get(address)
    assert stop_codes(page) == {code}
    assert "--" not in "".join(found.hint for found in page.context["page"].findings)
    assert browser.post(f"{address}keep/", sent_by(page)).status_code == 422
    assert not KeptPattern.objects.exists()
    answer = say(browser, address, **said)
    assert stop_codes(answer) == set()
    assert kept(browser, address).panels.closed_waist_mm == pytest.approx(WAIST_MM, rel=0.005)


def test_a_cut_line_by_its_words_takes_the_amount_that_is_said(browser: Browser):
    """5 mm within lines drawn: each of 6 panels a half is narrower by 10 mm, a little more where its edges lean."""
    address = lay_down(browser, svg([*plain_svg(PANELS), svg_text("seam allowance included", (300, 250))]))
    page = browser.get(address)
    assert stop_codes(page) == {"pattern.cut-line-without-allowance"}
    assert page.context["page"].to_say == 1
    # Beside what keeps it, which is far from the other place on a phone.
    in_the_way = page.content.decode().partition('class="in-the-way"')[2].partition("</ul>")[0]
    assert in_the_way.count("<li>") == 1
    assert "Say it under “Which line is drawn”." in in_the_way
    assert stop_codes(say(browser, address, allowance="0.5")) == set()
    assert kept(browser, address).panels.closed_waist_mm == pytest.approx(WAIST_MM - 12 * 10.0, rel=0.01)


def test_both_halves_are_kept_as_they_are_drawn(browser: Browser):
    mirrored = [in_mirror(panel) for panel in PANELS]
    address = lay_down(browser, svg(plain_svg(PANELS) + plain_svg(mirrored), box=(-1200, -300, 2400, 600)))
    page = browser.get(address).context["page"]
    assert [piece.number for piece in page.pieces] == [1, 2, 3, 4, 5, 6]
    assert len(page.others) == 6
    assert kept(browser, address).panels.closed_waist_mm == pytest.approx(WAIST_MM, rel=0.005)


def test_the_pattern_that_proposals_come_to_is_shown_before_they_are_taken(browser: Browser):
    page = browser.get(lay_down(browser, out_of_order()))
    assert page.context["page"].asks_numbers
    assert page.context["page"].closed_waist == "60.5 cm"
    assert len(page.context["page"].seams) == 5
    assert "These numbers are right" in page.content.decode()


def test_a_drawing_that_takes_too_long_is_refused(browser: Browser, monkeypatch: pytest.MonkeyPatch):
    """The limit is lower in the test."""
    monkeypatch.setattr("quotes.pattern.table.lying.MOST_SECONDS", 0.0)
    answer = browser.post("/patterns/table/", {"file": SimpleUploadedFile("drawing.svg", svg(plain_svg(PANELS)))})
    assert answer.status_code == 422
    assert "to tell the lines of the drawing apart" in answer.content.decode()


def test_a_drawing_of_too_many_pieces_is_refused(browser: Browser):
    boxes = [f'<path d="M{x} {y} h30 v60 h-30 Z"/>' for x in range(0, 1050, 50) for y in range(0, 400, 80)]
    answer = browser.post("/patterns/table/", {"file": SimpleUploadedFile("drawing.svg", svg(boxes))})
    assert answer.status_code == 422
    assert "that could be panels; 100 can be laid on the table" in answer.content.decode()
