"""Cloth laid folded in a quote: both ways with their figures, the chosen one costed, drawn and on its papers.

That a pair is cut once through two thicknesses of half the width is common practice of lays on the fold; amounts are reckoned
in the tests from the lengths and the price of the cloth.
"""

from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_forms import PageForms
from support_searching import worker_by_hand

from inventory.ground.findings import Refused
from inventory.models import StockMaterial
from quotes.commission.quote import LayKey, open_lays, option_lays
from quotes.desk.figures import commission_of, quotation_of
from quotes.desk.kept_lays import kept_lays
from quotes.desk.quoting import change_draft
from quotes.lay.check import lay_faults
from quotes.lay.fitting import breadth
from quotes.models import DrawnLay, LaySearch, QuoteRevision
from quotes.searching.folding import fold_choices, with_folds

pytestmark = pytest.mark.usefixtures("worker_is_there", "engine")
CLOTH = "coutil-white"


@pytest.fixture
def address(draft: QuoteRevision) -> str:
    return reverse("quotes:folding", args=[draft.quote_id, draft.number, 0])


@pytest.fixture
def drawn(browser: Browser, address: str) -> str:
    """Either way of both cloths is drawn; they are of one width, so that it is one search a way."""
    assert browser.get(address).content.decode().count("quick length, not drawn") == 4
    assert browser.post(address)["Location"] == address
    assert "waits for its turn" in browser.get(address).content.decode()
    worker = worker_by_hand(works_in_idle_time=False)
    while worker.step():
        pass
    assert LaySearch.objects.count() == DrawnLay.objects.count() == 2
    assert browser.get(address, headers={"hx-request": "true"})["HX-Refresh"] == "true"
    return address


def need_of(draft: QuoteRevision) -> Any:
    (need,) = [row for row in draft.snapshot.quotation.options[0].takeoff.cloths if row.material == CLOTH]
    return need


def test_both_ways_are_shown_with_what_they_take_and_the_chosen_one_counts(
    draft: QuoteRevision, browser: Browser, drawn: str, books: User
):
    change_draft(revision=draft, user=books)
    single = need_of(draft)
    (choice,) = [choice for choice in fold_choices(draft, 0) if choice.cloth == CLOTH]
    assert [way.is_chosen for way in choice.ways] == [True, False]
    assert all(way.is_drawn for way in choice.ways)
    html = browser.get(drawn).content.decode()
    assert all(way.length in html and way.gross in html for way in choice.ways)
    assert browser.post(drawn, {"cloth": CLOTH, "way": "folded", "version": draft.version})["Location"] == drawn
    draft.refresh_from_db()
    folded = need_of(draft)
    assert (single.is_folded, folded.is_folded) == (False, True)
    key = LayKey(0, CLOTH)
    commission = commission_of(draft.inputs, draft.pattern)
    problem, opened = option_lays(commission)[key], open_lays(commission)[key]
    plan = kept_lays({key: problem})[key]
    assert (problem.width, 2 * len(plan.placements)) == (opened.width / 2, len(opened.pieces))
    assert lay_faults(problem, plan) == ()
    assert folded.lay_mm == pytest.approx(plan.length, abs=0.01)
    (option,) = quotation_of(commission).options
    (line,) = [line for line in option.costing.lines if line.material == CLOTH]
    (material,) = [row for row in commission.price_list if row.code == CLOTH]
    used_mm = plan.length * commission.losses.cloth_use_factor.value / (1 - material.shrinkage_share)
    assert line.amount == pytest.approx(Decimal(repr(used_mm)) / 1000 * material.unit_cost, abs=Decimal("0.02"))
    assert "on the fold, through two thicknesses" in line.reason.counted
    (now,) = [choice for choice in fold_choices(draft, 0) if choice.cloth == CLOTH]
    assert [(way.length, way.cost) for way in now.ways] == [(way.length, way.cost) for way in choice.ways]
    browser.post(drawn, {"cloth": CLOTH, "way": "single"})
    draft.refresh_from_db()
    assert need_of(draft) == single


def test_a_folded_lay_is_drawn_and_printed_as_one(draft: QuoteRevision, browser: Browser, drawn: str):
    browser.post(drawn, {"cloth": CLOTH, "way": "folded"})
    draft.refresh_from_db()
    sheet = browser.get(reverse("quotes:sheet", args=[draft.quote_id, draft.number, 0])).content.decode()
    assert "Lay of inner, folded" in sheet
    assert sheet.count(">fold<") == 1
    for kind, words in (("svg", b"1C + 1D"), ("dxf", b"1C + 1D"), ("pdf", b"%PDF-")):
        paper = reverse("quotes:lay-paper", args=[draft.quote_id, draft.number, 0, CLOTH, kind])
        assert words in browser.get(paper).content, kind
    assert b"fold" in browser.get(paper.replace("pdf", "svg")).content


def test_a_change_of_the_option_keeps_its_cloths_folded(
    draft: QuoteRevision, browser: Browser, drawn: str, books: User
):
    browser.post(drawn, {"cloth": CLOTH, "way": "folded"})
    draft.refresh_from_db()
    assert draft.inputs["options"][0]["folded"] == [CLOTH]
    address = reverse("quotes:option", args=[draft.quote_id, draft.number, 0])
    form = PageForms(browser.get(address).content.decode(), address).that_has("construction")
    assert browser.post(address, form.with_values({"fittings": "3"})).status_code == 302
    draft.refresh_from_db()
    assert draft.inputs["options"][0]["folded"] == [CLOTH]
    form = PageForms(browser.get(address).content.decode(), address).that_has("construction")
    browser.post(address, form.with_values({"cloth_inner": "coutil-satin-bottle"}))
    draft.refresh_from_db()
    assert "folded" not in draft.inputs["options"][0]


def test_what_cannot_be_folded_is_laid_open_and_says_so(
    draft: QuoteRevision, browser: Browser, address: str, books: User
):
    """The cloth is wide enough for a piece, and half of it is not."""
    pieces = open_lays(commission_of(draft.inputs, draft.pattern))[LayKey(0, CLOTH)].pieces
    widest = max(breadth(piece.outline, 0.0) for piece in pieces)
    StockMaterial.objects.filter(code=CLOTH).update(usable_width_mm=round(1.5 * widest))
    assert CLOTH not in [choice.cloth for choice in fold_choices(draft, 0)]
    change_draft(revision=draft, change=lambda inputs: with_folds(inputs, 0, CLOTH, is_folded=True), user=books)
    assert not need_of(draft).is_folded
    findings = draft.snapshot.quotation.findings
    assert any(f"{CLOTH} is laid open, since a piece is wider than half of it" in row.message for row in findings)


def test_a_file_that_folds_what_is_no_cloth_is_refused(draft: QuoteRevision):
    inputs = with_folds(draft.inputs, 0, "velvet", is_folded=True)
    with pytest.raises(Refused, match="velvet is no cloth of this option"):
        commission_of(inputs, draft.pattern)


def test_without_a_worker_either_way_is_drawn_here(
    draft: QuoteRevision, browser: Browser, address: str, settings: Any, tmp_path: Path
):
    browser.post(address)
    settings.LAY_WORKER_LOCK = tmp_path / "another.lock"
    LaySearch.objects.update(created_at=timezone.now() - timedelta(minutes=1))
    htmx = {"hx-request": "true"}
    answer = browser.get(address, headers=htmx)
    assert DrawnLay.objects.count() == 1
    while "HX-Refresh" not in answer:
        answer = browser.get(address, headers=htmx)
    assert DrawnLay.objects.count() == 2
