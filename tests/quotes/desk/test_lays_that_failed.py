"""A lay whose engine failed is never kept as if it were drawn; the rule is the product's own."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse

from quotes.commission.quote import option_lays, quote_commission
from quotes.desk.figures import commission_of
from quotes.desk.kept_lays import DRAWN, draw_next, kept_lays
from quotes.lay.lay_plan import Effort
from quotes.lay.laying import lay_all
from quotes.lay.nest import lay
from quotes.models import DrawnLay, QuoteRevision


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """The packing engine breaks down until what is returned is called, and is asked for every lay."""

    def fails(*args: object, **kwargs: object) -> None:
        raise OSError("out of processes")

    monkeypatch.setattr("quotes.lay.packing.subprocess.Popen", fails)
    monkeypatch.setattr("quotes.lay.nest.AT_BOUND_SHARE", -1.0)
    return monkeypatch.undo


def test_it_is_shown_and_drawn_again(draft: QuoteRevision, maker: User, broken: Callable[[], None]):
    browser = Browser()
    browser.force_login(maker)
    address = reverse("quotes:lays", args=[draft.quote_id, draft.number])
    commission = commission_of(draft.inputs, draft.pattern)
    total = draw_next(commission, at_once=0).total
    answer = browser.post(address)
    while "HX-Refresh" not in answer:
        answer = browser.post(address, {"failed": list(answer.context["progress"].failed)})
    assert not DrawnLay.objects.exists()
    page = browser.get(reverse("quotes:revision", args=[draft.quote_id, draft.number])).content.decode()
    assert f"could not be drawn ({total} of {total}); the quick length counts." in page
    assert "Draw the lays" in page
    broken()
    browser.post(address)
    assert DrawnLay.objects.count() == total
    assert all(document["method"] in ("packed", "rows") for document in DrawnLay.objects.values_list("plan", flat=True))


def test_lays_in_rows_of_an_earlier_version_are_drawn_again(draft: QuoteRevision):
    """Version 1 kept a lay in rows wherever the engine failed, and did not say so."""
    commission = commission_of(draft.inputs, draft.pattern)
    draw_next(commission, at_once=9)
    problems = option_lays(commission)
    before = kept_lays(problems)
    assert before
    for row in DrawnLay.objects.all():
        row.plan = {**row.plan, "version": 1, "method": "rows"}
        row.save()
    assert kept_lays(problems) == {}
    draw_next(commission, at_once=9)
    assert kept_lays(problems).keys() == before.keys()


def test_a_packed_lay_of_an_earlier_version_stays(draft: QuoteRevision):
    (problem, *_) = option_lays(commission_of(draft.inputs, draft.pattern)).values()
    plan = replace(lay(problem, Effort.NONE), method="packed")
    assert DRAWN.read({**DRAWN.written(plan), "version": 1}) == plan


def test_the_quick_length_counts_and_the_finding_says_so(draft: QuoteRevision, broken: Callable[[], None]):
    commission = commission_of(draft.inputs, draft.pattern)
    failed = quote_commission(commission, lay=lambda problems: lay_all(problems, Effort.QUICK))
    without = quote_commission(commission)
    assert {found.code for found in failed.findings} - {found.code for found in without.findings} == {"lay.failed"}
    for one, other in zip(failed.options, without.options, strict=True):
        assert one.takeoff.lines == other.takeoff.lines
