"""From printed cards and photographs to a kept pattern. Photographs are rendered; truth is the pattern that was cut out of paper."""

import re
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client as Browser
from PIL import Image
from support_measuring import PAGE, hand_in, measure_cards, measured, table_of
from support_photographs import cards_at_the_corners, photograph, small_scene
from support_table import say, sent_by

from quotes.models import PatternHandIn, PatternPhotograph, PatternRevision, Workroom
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers import read_pattern
from quotes.photograph.card_sheet import card_sheet_pdf
from quotes.photograph.cards import PrintScale
from quotes.photograph.child import read_in_child
from quotes.photograph.reading import PhotoReading
from quotes.photograph.solve import LensPrior

UNDERBUST = Path(__file__).parents[3] / "fixtures" / "patterns" / "underbust.svg"


@cache
def two_panels() -> bytes:
    """Panels 1 and 2 of the underbust."""
    return photograph(small_scene())


@cache
def read_by_itself(data: bytes, name: str, scale: PrintScale) -> PhotoReading:
    return read_in_child(data, name, scale, None)


@pytest.fixture(autouse=True)
def read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A photograph by itself is measured once for all tests, in its process; those of a set as the page does it."""

    def read(data: bytes, name: str, scale: PrintScale, lens: LensPrior | None) -> PhotoReading:
        return read_by_itself(data, name, scale) if lens is None else read_in_child(data, name, scale, lens)

    monkeypatch.setattr("quotes.patterns.measuring.read_in_child", read)


@pytest.fixture
def laid(browser: Browser) -> str:
    """The address of the table on which a photograph lies."""
    measure_cards(browser)
    return table_of(browser, hand_in(browser, ("IMG_1.jpg", two_panels())))


def keep(browser: Browser, address: str, **said: Any) -> HttpResponse:
    return browser.post(f"{address}keep/", {**sent_by(browser.get(address)), **said})


def test_the_page_gives_out_the_sheet_of_cards(browser: Browser):
    assert f'href="{PAGE}cards.pdf"' in browser.get(PAGE).content.decode()
    answer = browser.get(f"{PAGE}cards.pdf")
    assert (answer.content, answer["Content-Type"]) == (card_sheet_pdf(), "application/pdf")


def test_what_the_cards_measure_is_asked_once_and_kept_until_they_are_printed_anew(browser: Browser):
    assert "Asked once for each printed sheet" in browser.get(PAGE).content.decode()
    assert measure_cards(browser, "24.9", "18")["Location"] == PAGE
    assert (Workroom.objects.get().cards_along_mm, Workroom.objects.get().cards_across_mm) == (249.0, 180.0)
    assert "Your sheet measures <b>24.9 cm</b> along and <b>18.0 cm</b> across." in browser.get(PAGE).content.decode()
    measure_cards(browser, "25.1", "18")
    assert Workroom.objects.get().cards_along_mm == 251.0


def test_a_sheet_that_is_off_by_more_than_two_percent_is_not_taken(browser: Browser):
    answer = measure_cards(browser, "24", "18")
    assert answer.status_code == 422
    assert "Print the cards again at 100 %" in answer.context["cards_form"].errors["along"][0]
    assert measure_cards(browser, "25", "").status_code == 422
    assert Workroom.objects.get().cards_along_mm is None


def test_photographs_wait_until_the_cards_are_measured(browser: Browser):
    answer = hand_in(browser, ("IMG_1.jpg", two_panels()))
    assert answer.status_code == 422
    assert "Measure both bars of your printed sheet" in answer.content.decode()
    assert not PatternHandIn.objects.exists()


def test_each_photograph_that_cannot_be_used_is_named(browser: Browser):
    measure_cards(browser)
    grey = BytesIO()
    Image.new("RGB", (800, 600), "grey").save(grey, "JPEG")
    answer = hand_in(browser, ("grey.jpg", grey.getvalue()), ("torn.jpg", b"\xff\xd8\xff"))
    page = measured(browser, answer["Location"]).context["page"]
    assert [row.name for row in page.rows if row.refused] == ["grey.jpg", "torn.jpg"]
    assert "The file is no picture that can be read" in page.rows[1].refused[0]
    assert not PatternHandIn.objects.exists()


def test_the_table_shows_each_outline_over_its_photograph_with_how_far_it_may_be_off(browser: Browser, laid: str):
    answer = browser.get(laid)
    (photo,) = answer.context["page"].photographs
    picture = PatternPhotograph.objects.get()
    assert f'href="/patterns/photographs/{picture.pk}/"' in photo.drawing
    assert photo.drawing.count('class="measured"') == 2
    assert [words.partition(",")[0] for words in photo.pieces] == ["panel 1", "panel 2"]
    assert [row.plus_minus for row in answer.context["page"].pieces] == [words[9:] for words in photo.pieces]
    assert "Check it by hand before cloth is cut" in answer.content.decode()
    (photo,) = say(browser, laid, number_1="0", number_2="1").context["page"].photographs
    assert photo.pieces[0].startswith("left out, ± ")
    assert photo.drawing.count("measured-left-out") == 1


def test_a_photograph_is_shown_to_who_is_logged_in_as_a_picture_and_nothing_else(browser: Browser, laid: str):
    address = f"/patterns/photographs/{PatternPhotograph.objects.get().pk}/"
    answer = browser.get(address)
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["Content-Security-Policy"] == "sandbox; default-src 'none'"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Cache-Control"].startswith("private")
    assert not Image.open(BytesIO(answer.content)).getexif()
    assert Browser().get(address).status_code == 302


def test_a_pattern_is_kept_once_its_outlines_are_confirmed_and_its_photograph_goes(browser: Browser, laid: str):
    answer = keep(browser, laid)
    assert answer.status_code == 422
    assert "say that its outlines lie right" in answer.content.decode()
    assert keep(browser, laid, outlines_lie_right="on", name="Paper").status_code == 302
    revision = PatternRevision.objects.get()
    assert (revision.pattern.name, revision.source_name) == ("Paper", "photograph: IMG_1.jpg")
    drawn = read_pattern(UNDERBUST, ReadOptions()).pattern.panels[:2]
    for one, two in zip(revision.panels.panels, drawn, strict=True):
        assert one.net_area_mm2 == pytest.approx(two.net_area_mm2, rel=0.005)
        assert one.waist_mm - one.bounds[0][1] == pytest.approx(two.waist_mm - two.bounds[0][1], abs=0.4)
    assert not PatternPhotograph.objects.exists()
    page = browser.get(f"/patterns/{revision.pattern_id}/").content.decode()
    assert "Check it by hand before cloth is cut" in page
    assert "drawing-photographed" not in page


def test_a_photograph_is_kept_with_its_pattern_where_the_maker_says_so(browser: Browser, laid: str):
    say(browser, laid, number_1="2", number_2="1", centre_front="right")
    keep(browser, laid, outlines_lie_right="on", keeps_photographs="on")
    page = browser.get(f"/patterns/{PatternRevision.objects.get().pattern_id}/").content.decode()
    assert f'href="/patterns/photographs/{PatternPhotograph.objects.get().pk}/"' in page
    assert re.findall(r"panel \d(?=, ± [\d.]+ mm(?: ·|<))", page.partition("<figcaption>")[2]) == ["panel 2", "panel 1"]
    pattern = PatternRevision.objects.get().pattern_id
    assert browser.post(f"/patterns/{pattern}/photographs/drop/")["Location"] == f"/patterns/{pattern}/"
    assert not PatternPhotograph.objects.exists()
    assert "drawing-photographed" not in browser.get(f"/patterns/{pattern}/").content.decode()


def test_a_photograph_that_was_dropped_takes_its_picture_with_it(browser: Browser, laid: str):
    PatternHandIn.objects.all().delete()
    assert not PatternPhotograph.objects.exists()


def test_photographs_of_one_name_are_told_apart_and_become_the_next_revision(browser: Browser, laid: str):
    keep(browser, laid, outlines_lie_right="on")
    pattern = PatternRevision.objects.get().pattern
    other = photograph(small_scene(laid_cards=cards_at_the_corners(400, 540, of=(0, 1, 3)), tilt_deg=3, seed=2))
    files = ("image.jpg", two_panels()), ("image.jpg", other)
    answer = hand_in(browser, *files, address=f"/patterns/{pattern.pk}/photographs/")
    address = table_of(browser, answer)
    hand_in_row = PatternHandIn.objects.latest("pk")
    assert address == f"/patterns/table/{hand_in_row.pk}/"
    assert (hand_in_row.pattern, hand_in_row.filename) == (pattern, "photograph: image.jpg, image (2).jpg")
    shown = browser.get(address).context["page"].photographs
    assert [photo.name for photo in shown] == ["image.jpg", "image (2).jpg"]


def test_the_cards_measured_make_the_pieces_smaller_or_larger(browser: Browser):
    """A sheet that was printed at 99 % makes each length 1 % smaller than a true one, areas 2 %."""
    areas = []
    for along, across in (("25", "18"), ("24.75", "17.82")):
        measure_cards(browser, along, across)
        look = browser.get(table_of(browser, hand_in(browser, ("IMG_1.jpg", two_panels())))).context["form"].look
        areas.append(look.pattern.panels[0].net_area_mm2)
    assert areas[1] / areas[0] == pytest.approx(0.99**2, abs=0.002)
