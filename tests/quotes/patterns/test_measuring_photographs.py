"""Photographs of one set measured step by step. Nothing reads them here: what stands for the reader writes down what it is asked
for, and answers with two panels of the underbust. Truth is what a maker did and sees.
"""

import re
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from typing import Any

import numpy as np
import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.utils import timezone
from PIL import Image
from support_measuring import FOUR, PAGE, Reader, a_look, a_reading, hand_in, measure_cards, measured, step, table_of

from quotes.models import KeptPattern, PatternHandIn, PatternPhotograph, PhotographInSet, PhotographSet
from quotes.patterns import measuring
from quotes.patterns.kept_looks import kept_look, kept_reading, look_document, reading_document
from quotes.photograph.cards import PrintScale
from quotes.photograph.reading import PhotoReading
from quotes.photograph.solve import LensPrior


def test_each_step_takes_one_photograph_and_says_which_is_next(browser: Browser, reader: Reader, begun: str):
    page = browser.get(begun).context["page"]
    assert (page.now, page.done, page.steps) == ("Looking at the cards in photograph 1 of 2: one.jpg.", 0, 4)
    assert reader.asked == []
    step(browser, begun)
    page = step(browser, begun).context["page"]
    assert reader.asked == ["look one.jpg", "look two.jpg"]
    assert (page.now, page.done) == ("Measuring photograph 1 of 2: one.jpg.", 2)
    page = step(browser, begun).context["page"]
    assert [row.standing for row in page.rows] == ["measured, 2 pieces", "in hand"]
    answer = step(browser, begun)
    assert reader.asked[2:] == ["read one.jpg", "read two.jpg"]
    assert answer["HX-Redirect"] == f"/patterns/table/{PatternHandIn.objects.get().pk}/"
    assert PatternHandIn.objects.get().filename == "photograph: one.jpg, two.jpg"


def test_only_what_keeps_the_pattern_asks_for_what_keeping_needs(browser: Browser, begun: str):
    """A browser sends nothing while the tick that outlines lie right is missing, so that “These numbers are right” and all else
    that is said of the pieces did nothing before it was set."""
    page = browser.get(measured(browser, begun)["HX-Redirect"]).content.decode()
    assert re.search(r"<input[^>]*name=\"outlines_lie_right\"[^>]*required", page)
    buttons = re.findall(r"<button[^>]*formaction[^>]*>", page)
    assert len(buttons) >= 3
    assert all("formnovalidate" in button for button in buttons)


def test_photographs_share_a_lens_and_one_by_itself_has_none_to_share(browser: Browser, reader: Reader, begun: str):
    measured(browser, begun)
    lens = reader.lenses["one.jpg"]
    assert lens is not None
    assert np.linalg.det(lens.covariance) < np.linalg.det(a_look().before.covariance)
    table_of(browser, hand_in(browser, FOUR[2]))
    assert reader.asked[-1] == "read three.jpg"
    assert reader.lenses["three.jpg"] is None


def test_without_scripts_each_press_takes_a_step(browser: Browser, begun: str):
    for _ in range(4):
        assert browser.post(begun)["Location"] == begun
    assert browser.get(begun)["Location"] == f"/patterns/table/{PatternHandIn.objects.get().pk}/"


def test_a_file_stays_no_longer_than_until_it_is_measured(browser: Browser, begun: str):
    for _ in range(3):
        step(browser, begun)
    assert [bytes(one.data) for one in PhotographInSet.objects.all()] == [b"", b"a picture"]
    step(browser, begun)
    assert not PhotographInSet.objects.exists()
    assert PatternPhotograph.objects.count() == 2


def test_where_and_by_what_a_photograph_was_taken_is_never_kept(browser: Browser, reader: Reader):
    """A garden of 8 × 8 pixels, which a copy of the books would hold until it is measured."""
    said = Image.Exif()
    said.get_ifd(0x8825)[27] = b"48 Garden Row"
    out = BytesIO()
    Image.new("RGB", (8, 8)).save(out, "JPEG", exif=said)
    measure_cards(browser)
    hand_in(browser, ("garden.jpg", out.getvalue()))
    kept = bytes(PhotographInSet.objects.get().data)
    assert b"Garden" in out.getvalue()
    assert b"Garden" not in kept
    assert Image.open(BytesIO(kept)).size == (8, 8)


def test_a_second_tab_waits_while_one_photograph_is_measured(browser: Browser, reader: Reader, begun: str, maker: User):
    other = Browser()
    other.force_login(maker)
    seen: list[Any] = []
    reader.meanwhile = lambda: seen.append(step(other, begun))
    step(browser, begun)
    assert reader.asked == ["look one.jpg"]
    assert seen[0].context["page"].is_elsewhere
    assert "A photograph is being measured already" in seen[0].content.decode()


def test_what_another_server_measured_meanwhile_is_left_as_it_is(browser: Browser, reader: Reader, begun: str):
    for _ in range(2):
        step(browser, begun)

    def measured_elsewhere() -> None:
        reader.meanwhile = lambda: None
        found = PhotographSet.objects.get()
        row = found.photographs.first()
        measuring._take_step(found, measuring.photographs_in(found), row)
        reader.refuses = {"read one.jpg"}

    reader.meanwhile = measured_elsewhere
    page = step(browser, begun).context["page"]
    assert page.rows[0].standing == "measured, 2 pieces"


def test_the_way_back_leads_to_the_table_and_a_second_press_lays_nothing_down_twice(browser: Browser, begun: str):
    table = measured(browser, begun)["HX-Redirect"]
    assert browser.get(begun)["Location"] == table
    assert step(browser, begun)["HX-Redirect"] == table
    assert PatternHandIn.objects.count() == 1


def test_what_is_thrown_away_meanwhile_comes_to_nothing(browser: Browser, reader: Reader, begun: str):
    for _ in range(3):
        step(browser, begun)
    reader.meanwhile = lambda: browser.post(f"{begun}drop/")
    assert step(browser, begun)["HX-Redirect"] == PAGE
    assert "hrown away" in browser.get(PAGE).content.decode()
    assert not PhotographSet.objects.exists()
    assert not PatternHandIn.objects.exists()
    assert browser.get(begun).status_code == 404


def test_photographs_of_a_next_revision_that_are_thrown_away_lead_back_to_it(browser: Browser, reader: Reader):
    measure_cards(browser)
    pattern = KeptPattern.objects.create(name="Willow")
    own_page = f"/patterns/{pattern.pk}/photographs/"
    begun = hand_in(browser, FOUR[0], address=own_page)["Location"]
    assert browser.post(f"{begun}drop/")["Location"] == own_page


def test_a_set_that_was_left_is_offered_and_goes_when_it_is_old_and_another_comes(browser: Browser, begun: str):
    assert f'href="{begun}"' in browser.get(PAGE).content.decode()
    PhotographSet.objects.update(began_at=timezone.now() - timedelta(hours=measuring.KEPT_HOURS, minutes=1))
    hand_in(browser, FOUR[2])
    assert [one.name for one in PhotographInSet.objects.all()] == ["three.jpg"]


"""A ruler of 300 mm as it comes out where the cards are 1/3 % larger than they were said to be."""


RULER = ((0.0, 0.0), (30.0, 0.0), (30.0, 301.0), (0.0, 301.0))


def with_ruler(reader: Reader, name: str) -> None:
    """Let a ruler lie in the photograph of this name."""
    plain = reader.read

    def read(data: bytes, read_name: str, scale: PrintScale, lens: LensPrior | None) -> PhotoReading:
        reading = plain(data, read_name, scale, lens)
        ruler = replace(reading.pieces[0], outline=RULER, notches=(), outline_px=RULER)
        return replace(reading, pieces=(*reading.pieces, ruler)) if read_name == name else reading

    reader.read = read  # type: ignore[method-assign]


def outlines_on(browser: Browser, table: str) -> int:
    return len(browser.get(table).context["form"].look.taken.outlines)


def test_a_ruler_is_a_check_and_no_piece(browser: Browser, reader: Reader, monkeypatch: pytest.MonkeyPatch):
    measure_cards(browser)
    with_ruler(reader, "one.jpg")
    monkeypatch.setattr(measuring, "read_in_child", reader.read)
    begun = browser.post(PAGE, {"photographs": SimpleUploadedFile(*FOUR[0]), "ruler": "30"})["Location"]
    table = measured(browser, begun)["HX-Redirect"]
    assert outlines_on(browser, table) == 2
    assert "The ruler of 300 mm comes out as 301.0 mm" in browser.get(table).content.decode()


def test_a_ruler_that_is_not_seen_is_told_and_its_length_may_be_said_anew(browser: Browser, reader: Reader):
    measure_cards(browser)
    begun = browser.post(PAGE, {"photographs": SimpleUploadedFile(*FOUR[0]), "ruler": "30"})["Location"]
    for _ in range(2):
        page = step(browser, begun)
    assert page.context["page"].heading == "The ruler does not agree"
    assert "No straight thing about 300 mm long is seen" in page.content.decode()
    assert not PatternHandIn.objects.exists()
    assert browser.post(f"{begun}ruler/", {"ruler": "1"}).status_code == 422
    assert browser.post(f"{begun}ruler/", {"ruler": ""})["Location"] == begun
    assert outlines_on(browser, measured(browser, begun)["HX-Redirect"]) == 2


def test_a_ruler_of_a_length_that_none_has_is_told_before_anything_is_kept(browser: Browser):
    measure_cards(browser)
    answer = browser.post(
        PAGE, {"photographs": SimpleUploadedFile(*FOUR[0]), "ruler": "5"}, headers={"HX-Request": "true"}
    )
    assert answer.status_code == 422
    assert "The ruler: 5 is outside 100 to 2000 mm." in answer.content.decode()
    assert not PhotographSet.objects.exists()


def test_a_piece_that_two_photographs_show_is_counted_once_and_how_far_they_differ_is_told(
    browser: Browser, begun: str
):
    table = measured(browser, begun)["HX-Redirect"]
    assert outlines_on(browser, table) == 2
    words = browser.get(table).content.decode()
    assert "Piece 1 of one.jpg and piece 1 of two.jpg are one: their outlines differ by 0.00 mm." in words


def test_what_is_kept_between_the_steps_is_what_was_read():
    look = a_look()
    again = kept_look(look_document(look))
    assert (again.camera, again.before.focal_px, again.before.middle) == (look.camera, 1234.5, (399.5, 539.5))
    for one, two in ((again.before, look.before), (again.after, look.after)):
        assert np.array_equal(one.mean, two.mean)
        assert np.array_equal(one.covariance, two.covariance)
    assert kept_reading(reading_document(a_reading()), a_reading().shown) == a_reading()


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ([*FOUR, ("five.jpg", b"a")], "These are 5 photographs; there is room for 4."),
        ([("notes.txt", b"none"), FOUR[0]], "notes.txt is no kind of photograph that can be read."),
        ([("empty.jpg", b""), ("notes.txt", b"none")], "empty.jpg: The file is empty."),
        ([("IMG_7.HEIC", b"heic")], "IMG_7.HEIC: HEIC is not read on this machine."),
        ([], "Choose a photograph, or take one."),
    ],
)
def test_what_cannot_be_photographs_is_told_at_once(
    browser: Browser, files: list[tuple[str, bytes]], words: str, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("quotes.patterns.photograph_forms.READS_HEIC", False)
    measure_cards(browser)
    answer = hand_in(browser, *files)
    assert answer.status_code == 422
    assert words in " ".join(answer.context["form"].errors["photographs"])
    assert not PhotographSet.objects.exists()


def test_four_photographs_of_a_telephone_are_taken_and_far_more_is_told(browser: Browser):
    """A telephone of 12 million pixels writes 3 to 6 MB."""
    measure_cards(browser)
    assert hand_in(browser, *[(name, bytes(6_000_000)) for name, _ in FOUR]).status_code == 302
    answer = browser.post(PAGE, {"photographs": FOUR[0][0]}, headers={"HX-Request": "true"}, CONTENT_LENGTH="61500000")
    assert answer.status_code == 413
    words = answer.content.decode()
    assert "What was sent is larger than 60 MB. Hand in fewer" in words
    assert "<html" not in words
    assert 'href=""' in words
    assert PhotographSet.objects.count() == 1


def test_from_a_page_that_is_too_large_the_way_back_leads_to_the_form(browser: Browser, begun: str):
    """Without scripts the browser stands at the address that was posted to, which has no page of its own."""
    answer = browser.post(
        f"{begun}others/",
        {"photographs": "x"},
        CONTENT_LENGTH="61500000",
        headers={"Referer": f"http://testserver{begun}"},
    )
    assert answer.status_code == 413
    assert f'href="http://testserver{begun}"' in answer.content.decode()
    elsewhere = browser.post(
        f"{begun}others/",
        {"photographs": "x"},
        CONTENT_LENGTH="61500000",
        headers={"Referer": "https://elsewhere.example/"},
    )
    assert "Back to the form" not in elsewhere.content.decode()
