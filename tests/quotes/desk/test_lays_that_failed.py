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
    monkeypatch.setattr("quotes.lay.true_lays.AT_BOUND_SHARE", -1.0)
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
    assert all(
        document["method"] in ("packed", "filled", "rows")
        for document in DrawnLay.objects.values_list("plan", flat=True)
    )


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


def test_a_lay_is_searched_longer_when_asked_and_gives_way_to_a_shorter_one_only(
    draft: QuoteRevision, maker: User, monkeypatch: pytest.MonkeyPatch
):
    commission = commission_of(draft.inputs, draft.pattern)
    problems = option_lays(commission)
    asked = []

    def rows_first(missing: dict, effort: Effort) -> dict:
        asked.extend(effort for _ in missing)
        longer = 1.3 if effort is Effort.THOROUGH else 1.2
        plans = {key: lay(problem, Effort.NONE) for key, problem in missing.items()}
        return {
            key: replace(plan, effort=effort, method="packed", length=plan.length * longer)
            for key, plan in plans.items()
        }

    monkeypatch.setattr("quotes.desk.kept_lays.lay_all", rows_first)
    draw_next(commission, at_once=9)
    first = {key: plan.length for key, plan in kept_lays(problems).items()}
    browser = Browser()
    browser.force_login(maker)
    address = reverse("quotes:lays", args=[draft.quote_id, draft.number])
    while "HX-Refresh" not in browser.post(address, {"longer": "yes"}):
        pass
    assert asked.count(Effort.THOROUGH) == DrawnLay.objects.count()
    assert {key: plan.length for key, plan in kept_lays(problems).items()} == first
    assert {plan.effort for plan in kept_lays(problems).values()} == {Effort.THOROUGH}
    so_far = len(asked)
    assert draw_next(commission, effort=Effort.THOROUGH, at_once=9).is_over
    assert len(asked) == so_far
