"""Lays are asked for on the page of a draft, and looked at while a worker draws them; the rules are the product's own."""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from support_searching import Engine, worker_by_hand

from quotes.desk.figures import commission_of
from quotes.desk.kept_lays import draw_next, kept_by_key, lays_of
from quotes.desk.quoting import change_draft
from quotes.models import DrawnLay, LaySearch, QuoteRevision

pytestmark = pytest.mark.usefixtures("worker_is_there")
State = LaySearch.State


@pytest.fixture
def two_layers(two_layers: dict[str, Any]) -> dict[str, Any]:
    """An option whose cloths are not of one width, so that it has two lays."""
    return {**two_layers, "cloths": {"outer": "silk-dupion-plum", "inner": "coutil-white"}}


@pytest.fixture
def address(draft: QuoteRevision) -> str:
    return f"/quotes/{draft.quote_id}/{draft.number}/lays/"


def named(html: str) -> list[str]:
    """The searches that a page asks about."""
    return [part.split('"')[0] for part in html.split('name="search" value="')[1:]]


def seen(html: str) -> str:
    return html.split('name="seen" value="')[1].split('"')[0]


def quoted(draft: QuoteRevision) -> list[float]:
    """The lengths of lays of drawn cloths in the figures, mm."""
    cloths = draft.snapshot.quotation.options[0].takeoff.cloths
    return [cloth.lay_mm for cloth in cloths if cloth.role in ("outer", "inner")]


def draw_all() -> None:
    worker = worker_by_hand(works_in_idle_time=False)
    while worker.step():
        pass


def test_lays_are_asked_for_drawn_and_taken(draft: QuoteRevision, browser: Browser, address: str):
    html = browser.post(address, {"begin": "yes"}).content.decode()
    assert html.count("waits for its turn") == LaySearch.objects.filter(state=State.WAITING).count() == 2
    assert not DrawnLay.objects.exists()
    draw_all()
    assert {search.state for search in LaySearch.objects.all()} == {State.DONE}
    answer = browser.get(address, {"search": named(html), "seen": seen(html)})
    assert answer.status_code == 286
    assert answer["HX-Retarget"] == "#lays"
    taken = browser.post(address, {"take": "yes", "search": named(answer.content.decode())})
    assert taken["HX-Refresh"] == "true"
    draft.refresh_from_db()
    lengths = {plan.length for plan in kept_by_key(lays_of(commission_of(draft.inputs, draft.pattern))).values()}
    assert {round(length, 1) for length in quoted(draft)} == {round(length, 1) for length in lengths}
    assert draft.snapshot.drawings.lays


def test_the_page_says_how_far_each_is(draft: QuoteRevision, browser: Browser, address: str, engine: Engine):
    """Shares by hand: rows of this length fill so much, and what is possible is the area by the width, or the longest piece."""
    html = browser.post(address).content.decode()
    answers = []

    def look() -> None:
        answers.append(browser.get(address, {"search": named(html), "seen": "running-waiting"}))

    engine.meanwhile, engine.times = look, 1.25
    worker_by_hand().step()
    (answer,) = answers
    assert answer.status_code == 200
    words = answer.content.decode()
    assert words.count("hx-swap-oob") == 2
    assert "waits for its turn" in words
    search = LaySearch.objects.get(state=State.DONE)
    plan = kept_by_key([search.key])[search.key]
    area = plan.density_share * plan.length * plan.width
    assert f"{plan.length / 10:.1f} cm so far" in words
    assert f"{area / plan.length / plan.width * 100:.1f}".rstrip("0").rstrip(".") + " % of the cloth used" in words
    assert f"{(plan.length / plan.lower_bound - 1) * 100:.1f}".rstrip("0").rstrip(".") + " % above" in words


def test_a_search_is_stopped_and_the_best_stands(browser: Browser, address: str, engine: Engine):
    html = browser.post(address).content.decode()
    first, second = LaySearch.objects.in_turn()

    def stop() -> None:
        answers.append(browser.post(address, {"stop": first.pk, "search": named(html)}).content.decode())

    answers: list[str] = []
    engine.meanwhile = stop
    worker_by_hand().step()
    assert "Stop and keep the best" not in answers[0]
    first.refresh_from_db()
    assert first.state == State.STOPPED
    assert kept_by_key([first.key])[first.key].ended_early
    left = browser.post(address, {"stop": second.pk, "search": named(html)}).content.decode()
    assert "Leave it out" not in left
    second.refresh_from_db()
    assert second.state == State.STOPPED
    assert len(engine.asked) == 1
    assert browser.get(address, {"search": named(html)}).status_code == 286


def test_the_same_lay_is_asked_for_once(draft: QuoteRevision, browser: Browser, address: str):
    for _ in range(3):
        browser.post(address)
    assert LaySearch.objects.count() == 2
    draw_all()
    assert browser.post(address)["HX-Refresh"] == "true"
    assert LaySearch.objects.count() == 2


def test_a_kept_lay_is_not_searched_anew(draft: QuoteRevision, browser: Browser, address: str, engine: Engine):
    """It was drawn elsewhere since it was asked for."""
    browser.post(address)
    draw_next(commission_of(draft.inputs, draft.pattern), at_once=9)
    draw_all()
    assert not engine.asked
    assert {search.state for search in LaySearch.objects.all()} == {State.DONE}


def test_a_page_that_is_opened_again_goes_on_looking(draft: QuoteRevision, browser: Browser, address: str):
    assert browser.get(address)["HX-Reswap"] == "none"
    browser.post(address)
    answer = browser.get(address)
    assert answer["HX-Retarget"] == "#lays"
    assert answer.content.decode().count("waits for its turn") == 2


def test_lays_that_failed_are_told(
    draft: QuoteRevision, browser: Browser, address: str, engine: Engine, monkeypatch: pytest.MonkeyPatch
):
    engine.method = "failed"
    html = browser.post(address).content.decode()
    draw_all()
    assert {search.state for search in LaySearch.objects.all()} == {State.FAILED}
    assert not DrawnLay.objects.exists()
    browser.post(address, {"take": "yes", "search": named(html)})
    page = browser.get(f"/quotes/{draft.quote_id}/{draft.number}/").content.decode()
    assert "could not be drawn (2 of 2); the quick length counts." in page


def test_without_a_worker_the_page_draws_them(
    settings: Any, draft: QuoteRevision, browser: Browser, address: str, tmp_path: Path
):
    """Also where a worker was there when they were asked for; none is drawn while one may still be at it."""
    html = browser.post(address).content.decode()
    settings.LAY_WORKER_LOCK = tmp_path / "another.lock"
    assert browser.get(address, {"search": named(html), "seen": seen(html)}).status_code == 200
    LaySearch.objects.update(created_at=timezone.now() - timedelta(minutes=1))
    answer = browser.get(address, {"search": named(html), "seen": seen(html)})
    assert answer.status_code == 286
    assert "begin" in answer.content.decode()
    answer = browser.post(address, {"begin": "yes"})
    assert "Drawing lays: 0 of 2" in answer.content.decode()
    while "HX-Refresh" not in answer:
        answer = browser.post(address)
    assert DrawnLay.objects.count() == 2


def test_two_windows_take_lays_at_one_moment(
    draft: QuoteRevision, browser: Browser, address: str, monkeypatch: pytest.MonkeyPatch
):
    """The other window's change comes between reading the draft and writing it; neither is told of a conflict."""
    others = iter([True])

    def other_first(*, revision: QuoteRevision, user: User) -> QuoteRevision:
        if next(others, False):
            QuoteRevision.objects.filter(pk=revision.pk).update(version=revision.version + 1)
        return change_draft(revision=revision, user=user)

    monkeypatch.setattr("quotes.searching.views.change_draft", other_first)
    assert browser.post(address, {"take": "yes"})["HX-Refresh"] == "true"
    draft.refresh_from_db()
    assert draft.version == 3
    assert "changed in another window" not in browser.get(f"/quotes/{draft.quote_id}/{draft.number}/").content.decode()


def test_looking_how_far_a_search_is_asks_the_books_little(browser: Browser, address: str):
    """It is done every second; the first two questions are for who asks."""
    html = browser.post(address).content.decode()
    with CaptureQueriesContext(connection) as asked:
        assert browser.get(address, {"search": named(html), "seen": seen(html)}).status_code == 200
    assert len(asked) <= 4


def test_what_names_no_search_is_not_found(draft: QuoteRevision, browser: Browser, address: str):
    assert browser.get(address, {"search": "1; DROP"}).status_code == 404


def test_shorter_lays_found_meanwhile_are_told_and_change_nothing_until_they_are_taken(
    draft: QuoteRevision, maker: User, browser: Browser, address: str, shorter: Callable[[], None]
):
    change_draft(revision=draft, user=maker)
    before = QuoteRevision.objects.values().get()
    shorter()
    answer = browser.get(address)
    assert "Shorter lays were found since this draft was worked out" in answer.content.decode()
    browser.get(f"/quotes/{draft.quote_id}/{draft.number}/")
    assert QuoteRevision.objects.values().get() == before
    was = quoted(draft)
    browser.post(address, {"take": "yes"})
    draft.refresh_from_db()
    assert quoted(draft) == pytest.approx([length / 2 for length in was], abs=0.1)
    page = browser.get(f"/quotes/{draft.quote_id}/{draft.number}/").content.decode()
    assert "Worked out anew with the lays as they are now." in page
    assert browser.get(address)["HX-Reswap"] == "none"


@pytest.fixture
def shorter(draft: QuoteRevision) -> Callable[[], None]:
    """All lays of the draft are drawn; then they come out half as long."""
    draw_next(commission_of(draft.inputs, draft.pattern), at_once=9)

    def halve() -> None:
        for row in DrawnLay.objects.all():
            row.plan = {**row.plan, "length": row.plan["length"] / 2}
            row.save()

    return halve


def test_a_number_that_no_search_can_have_stops_nothing(address: str, browser: Browser):
    """More digits than the database counts with, and those of another script."""
    browser.post(address)
    assert LaySearch.objects.filter(state=State.WAITING).exists()
    for number in ("9" * 30, "\u0661"):
        assert browser.post(address, {"stop": number}).status_code == 200
    assert not LaySearch.objects.filter(state=State.STOPPED).exists()
