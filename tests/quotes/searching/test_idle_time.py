"""Idle time is for lays that may come out shorter, each a few times; what was sent stays. The rules are the product's own."""

from datetime import timedelta
from itertools import count
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_searching import Engine, worker_by_hand

from quotes.defaults import desk_defaults
from quotes.desk.figures import commission_of
from quotes.desk.kept_lays import draw_next, kept_by_key, lays_of
from quotes.desk.quoting import change_draft, decline, offer_of_today, send
from quotes.lay.lay_plan import Effort
from quotes.models import DrawnLay, LaySearch, QuoteRevision
from quotes.seal.snapshot import offer_fingerprint
from quotes.searching import holding
from quotes.searching.idle_time import candidates


@pytest.fixture
def drawn(draft: QuoteRevision, maker: User) -> QuoteRevision:
    """A draft whose one lay is above what is possible, and was searched as long as is usual."""
    draw_next(commission_of(draft.inputs, draft.pattern), at_once=9)
    must_be(length=lambda plan: plan["lower_bound"] * 1.5, method="packed", effort="normal")
    return change_draft(revision=draft, user=maker)


def must_be(**columns: Any) -> None:
    """Write the kept lay anew; a function is given the plan."""
    row = DrawnLay.objects.get()
    row.plan = {
        **row.plan,
        **{name: value(row.plan) if callable(value) else value for name, value in columns.items()},
    }
    row.save()


def found() -> list[str]:
    return [candidate.key for candidate in candidates(on=timezone.localdate())]


@pytest.fixture
def sent(drawn: QuoteRevision, maker: User) -> QuoteRevision:
    seen = offer_fingerprint(offer_of_today(drawn))
    return send(revision=drawn, valid_until=timezone.localdate() + timedelta(days=14), seen=seen, user=maker)


def test_a_lay_above_what_is_possible_is_found_until_it_was_searched_thoroughly(drawn: QuoteRevision):
    keys = list(lays_of(commission_of(drawn.inputs, drawn.pattern)))
    assert found() == keys
    must_be(effort="thorough")
    assert found() == []
    must_be(method="stopped")
    assert found() == keys
    must_be(method="packed", effort="normal", length=lambda plan: plan["lower_bound"])
    assert found() == []


def test_a_lay_that_was_never_drawn_is_left_to_the_maker(draft: QuoteRevision):
    assert found() == []


def test_quotes_that_are_out_count_and_those_that_are_over_do_not(sent: QuoteRevision, maker: User):
    assert len(found()) == 1
    assert list(candidates(on=timezone.localdate() + timedelta(days=15))) == []
    decline(revision=sent, user=maker)
    assert found() == []


def test_each_lay_has_a_few_turns(drawn: QuoteRevision, monkeypatch: pytest.MonkeyPatch):
    """As many as quotes/defaults.json says, however often it is looked; one that is nowhere shorter changes nothing."""
    an_hour_later = count(step=3600)
    monkeypatch.setattr("quotes.searching.worker.monotonic", lambda: float(next(an_hour_later)))
    engine = Engine(times=9.0)
    monkeypatch.setattr("quotes.searching.worker.laid", engine)
    before = DrawnLay.objects.get().plan
    worker = worker_by_hand()
    for _ in range(50):
        worker.step()
    assert len(engine.asked) == desk_defaults().lay.idle_turns == LaySearch.objects.count()
    assert DrawnLay.objects.get().plan == before


def test_what_was_sent_stays_as_it_is_and_its_papers_are_there_still(
    sent: QuoteRevision, browser: Browser, monkeypatch: pytest.MonkeyPatch
):
    """A shorter lay of the same pieces on the same cloth takes no more of it than was quoted."""
    monkeypatch.setattr(holding, "BEAT_SECONDS", 0.0)
    monkeypatch.setattr("quotes.searching.worker.laid", Engine(times=0.5))
    before = QuoteRevision.objects.values().get()
    key, was = next(iter(kept_by_key(found()).items()))
    worker = worker_by_hand()
    while not LaySearch.objects.filter(state=LaySearch.State.DONE).exists():
        worker.step()
    now = kept_by_key([key])[key]
    assert now.length < was.length
    assert now.effort is Effort.NORMAL
    assert QuoteRevision.objects.values().get() == before
    paper = reverse("quotes:lay-paper", args=[sent.quote_id, sent.number, 0, "coutil-white", "pdf"])
    assert browser.get(paper).content.startswith(b"%PDF-")
    must_be(width=lambda plan: plan["width"] + 10)
    assert browser.get(paper).status_code == 302
