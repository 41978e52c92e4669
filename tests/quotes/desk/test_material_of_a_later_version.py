"""A material of a kind that a later version wrote is left out and named; quotes and lists go on without it.

The kind is invented: it is in no list of this version. Common practice, no source.
"""

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from support_shelf import stocked
from support_start import start_as_shown

from inventory.ground.findings import Refused
from inventory.models import Lot, StockItem, StockMaterial
from inventory.stock.audit import audit
from inventory.stock.price_list import price_list
from quotes.desk.quoting import change_draft
from quotes.models import PatternRevision, QuoteRevision

SENTENCE = "is of the kind &#x27;feather&#x27;, which this version does not know; it is left out here."


@pytest.fixture
def lot(books: User) -> Lot:
    """A lot of a cord, whose material a later version then made one of another kind."""
    material = StockMaterial.objects.create(code="feather", name="Feather", kind="cord", unit_cost_millionths=1)
    lot = stocked(StockItem.objects.create(material=material, code="feather"), 5000, 500)
    StockMaterial.objects.filter(pk=material.pk).update(kind="feather", sort_order=0)
    return lot


def test_the_price_list_goes_without_it(lot: Lot):
    codes = {material.code for material in price_list()}
    assert "feather" not in codes
    assert len(codes) == StockMaterial.objects.filter(is_retired=False).count() - 1


def test_quotes_are_started_and_changed_without_it(lot: Lot, pattern: PatternRevision, browser: Browser, books: User):
    assert SENTENCE in browser.get("/quotes/new/", follow=True).content.decode()
    said = start_as_shown(
        browser, title="Plain", new_client="Odile Farrant", pattern=pattern.pattern.pk, cloth_outer="coutil-black"
    )
    assert browser.post("/quotes/new/", said).status_code == 302
    draft = QuoteRevision.objects.latest("pk")
    page = browser.get(f"/quotes/{draft.quote.pk}/{draft.number}/options/0/")
    assert page.status_code == 200
    assert SENTENCE in page.content.decode()
    before = draft.figures

    def with_it(inputs: dict[str, Any]) -> dict[str, Any]:
        (option,) = inputs["options"]
        return {**inputs, "options": [{**option, "choices": {**option.get("choices", {}), "cord": "feather"}}]}

    with pytest.raises(Refused, match="has no cord of the code 'feather'"):
        change_draft(revision=draft, change=with_it, user=books)
    draft.refresh_from_db()
    assert draft.figures == before


@pytest.mark.parametrize("address", ["/shelf/", "/shelf/movements/"])
def test_lists_name_it(address: str, lot: Lot, browser: Browser):
    page = browser.get(address)
    assert page.status_code == 200
    assert SENTENCE in page.content.decode()


@pytest.mark.parametrize("address", ["/shelf/items/feather/", "/shelf/lots/{lot}/", "/shelf/materials/feather/"])
def test_its_own_pages_say_which_version_to_start(address: str, lot: Lot, browser: Browser):
    browser.raise_request_exception = False
    answer = browser.get(address.format(lot=lot.pk))
    assert answer.status_code == 503
    assert "Start the version that wrote it, or a later one." in answer.content.decode()


def test_the_books_are_audited_with_it(lot: Lot):
    assert not audit().differences
