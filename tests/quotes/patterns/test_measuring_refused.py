"""Photographs of a set that cannot be used: named, replaced, left out, tried again. Truth is what a maker did and sees."""

from datetime import timedelta

import pytest
from django.test import Client as Browser
from django.utils import timezone
from support_measuring import FOUR, PAGE, Reader, hand_in, measure_cards, measured

from quotes.models import PatternHandIn, PhotographInSet, PhotographSet


def test_one_that_cannot_be_used_is_named_before_the_others_are_measured(browser: Browser, reader: Reader, begun: str):
    reader.refuses = {"look one.jpg"}
    page = measured(browser, begun).context["page"]
    assert reader.asked == ["look one.jpg", "look two.jpg"]
    assert page.rows[0].refused == ["The picture is too dark. Use more lamps."]
    assert (page.is_refused, page.sound) == (True, 1)
    assert "One of the photographs cannot be used" in browser.get(begun).content.decode()


def test_measuring_goes_on_without_those_that_cannot_be_used(browser: Browser, reader: Reader, begun: str):
    reader.refuses = {"read one.jpg"}
    measured(browser, begun)
    assert reader.asked[-1] == "read two.jpg"
    assert browser.post(f"{begun}others/", {"without": "yes"})["Location"] == begun
    assert "HX-Redirect" in measured(browser, begun)
    assert reader.asked[-1] == "read two.jpg"
    assert PatternHandIn.objects.get().filename == "photograph: two.jpg"


def test_others_come_in_place_of_those_that_cannot_be_used(browser: Browser, reader: Reader, begun: str):
    reader.refuses = {"look one.jpg"}
    measured(browser, begun)
    others = f"{begun}others/"
    answer = hand_in(browser, *FOUR, address=others)
    assert answer.status_code == 422
    assert "These are 4 photographs; there is room for 3." in answer.content.decode()
    assert hand_in(browser, ("two.jpg", b"another"), address=others)["Location"] == begun
    hand_in(browser, ("two.jpg", b"another"), address=others)
    reader.refuses = set()
    measured(browser, begun)
    assert reader.asked[2:] == ["look two (2).jpg", "read two.jpg", "read two (2).jpg"]
    assert PatternHandIn.objects.get().filename == "photograph: two.jpg, two (2).jpg"


@pytest.mark.parametrize("code", ["file.too-slow", "file.broken-off"])
def test_one_that_failed_by_the_clock_or_from_outside_is_tried_again_by_one_press(
    browser: Browser, reader: Reader, begun: str, code: str
):
    """Its file is still there: nothing was wrong with it, and a phone need not send it again."""
    reader.overruns = {"read one.jpg": code}
    page = measured(browser, begun)
    assert page.context["page"].may_be_tried_again
    assert "Try it once more" in page.content.decode()
    reader.overruns = {}
    assert browser.post(f"{begun}again/")["Location"] == begun
    assert "HX-Redirect" in measured(browser, begun)
    assert reader.asked[2:] == ["read one.jpg", "read two.jpg", "read one.jpg"]
    assert PatternHandIn.objects.get().filename == "photograph: one.jpg, two.jpg"


def test_only_those_that_failed_by_the_clock_are_tried_again(browser: Browser, reader: Reader, begun: str):
    reader.overruns, reader.refuses = {"look one.jpg": "file.too-slow"}, {"look two.jpg"}
    measured(browser, begun)
    assert [bytes(one.data) for one in PhotographInSet.objects.all()] == [b"a picture", b""]
    reader.overruns = {}
    browser.post(f"{begun}again/")
    page = measured(browser, begun)
    assert reader.asked == ["look one.jpg", "look two.jpg", "look one.jpg"]
    assert [bool(row.refused) for row in page.context["page"].rows] == [False, True]
    assert not page.context["page"].may_be_tried_again
    assert "once more" not in page.content.decode()


def test_one_without_its_file_stays_refused_and_can_be_replaced(browser: Browser, reader: Reader, begun: str):
    """An earlier version let go of every file that was refused; another one comes in its place."""
    reader.overruns = {"read one.jpg": "file.too-slow"}
    measured(browser, begun)
    PhotographInSet.objects.filter(name="one.jpg").update(data=b"")
    long_ago = timezone.now() - timedelta(hours=9)
    PhotographSet.objects.update(began_at=long_ago)
    browser.post(f"{begun}again/")
    assert measured(browser, begun).context["page"].is_refused
    assert PhotographSet.objects.get().began_at > long_ago


def test_what_came_in_the_place_of_none_is_told(browser: Browser, reader: Reader, begun: str):
    """A second tab that still showed the refused one: the first had put another in its place."""
    reader.refuses = {"look one.jpg"}
    measured(browser, begun)
    others = f"{begun}others/"
    hand_in(browser, ("three.jpg", b"another"), address=others)
    answer = hand_in(browser, ("four.jpg", b"another"), address=others)
    assert answer["Location"] == begun
    assert "What you sent, four.jpg, was not taken in" in browser.get(begun).content.decode()
    assert [one.name for one in PhotographInSet.objects.all()] == ["two.jpg", "three.jpg"]


def test_what_comes_after_the_others_lie_on_the_table_is_told_there(browser: Browser, begun: str):
    table = measured(browser, begun)["HX-Redirect"]
    answer = hand_in(browser, FOUR[2], address=f"{begun}others/", **{"HX-Request": "true"})
    assert answer["HX-Redirect"] == begun
    assert browser.get(begun)["Location"] == table
    assert "What you sent, three.jpg, was not taken in" in browser.get(table).content.decode()


def test_what_comes_for_photographs_that_were_thrown_away_is_told(browser: Browser, begun: str):
    browser.post(f"{begun}drop/")
    assert hand_in(browser, FOUR[2], address=f"{begun}others/")["Location"] == PAGE
    assert "These photographs were thrown away." in browser.get(PAGE).content.decode()


def test_without_one_that_can_be_used_there_is_nothing_to_go_on_with(browser: Browser, reader: Reader):
    measure_cards(browser)
    reader.refuses = {"read one.jpg"}
    address = hand_in(browser, FOUR[0])["Location"]
    page = measured(browser, address)
    assert "Go on without" not in page.content.decode()
    browser.post(f"{address}others/", {"without": "yes"})
    assert PhotographInSet.objects.get().name == "one.jpg"
    assert browser.post(f"{address}others/").status_code == 422
