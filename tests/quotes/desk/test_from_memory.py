"""What of a quote is still memory is counted for the maker, and told to nobody else. The rule is the product's own."""

from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from pypdf import PdfReader
from support_shelf import act

from inventory.models import StockItem, StockMaterial
from inventory.stock.ledger import Arrival, receive
from quotes.desk.from_memory import remembered
from quotes.labour.standard import default_times, from_memory, set_by_hand, times_document
from quotes.models import QuoteRevision
from quotes.workroom.settings import save_times, set_minutes, workroom

pytestmark = pytest.mark.django_db


def test_shipped_minutes_are_memory_until_they_are_set_or_learnt():
    times = default_times()
    first, second, third, *others = times.operations
    table = replace(times, operations=(replace(first, pace=1.2, pace_why="from 3 jobs"), second, third, *others))
    slower = replace(second, setup_min=second.setup_min + 5)
    moment = datetime(2026, 11, 2, 10, tzinfo=UTC)
    by_hand = set_by_hand(table, replace(table, operations=(table.operations[0], slower, third, *others)), at=moment)
    assert from_memory(times) == {row.code for row in times.operations}
    assert from_memory(by_hand) == {row.code for row in (third, *others)}


def test_minutes_that_were_set_to_what_was_shipped_are_the_makers():
    times = default_times()
    known = replace(times.operations[0], since="2026-11-02T10:00:00+00:00")
    assert known.code not in from_memory(replace(times, operations=(known, *times.operations[1:])))


def test_another_speed_of_the_machine_is_the_makers_word_on_all_that_it_runs():
    times = replace(default_times(), stitches_per_min=400)
    assert from_memory(times) == {row.code for row in times.operations if not row.stitches}


def test_a_quote_counts_its_own_materials_and_operations(draft: QuoteRevision):
    quotation = draft.snapshot.quotation
    materials = {line.material for line in quotation.options[0].lines_of("material")} - {""}
    operations = quotation.options[0].takeoff.labour.operations
    StockMaterial.objects.filter(code__in=["cord-flat-6", "busk-standard", "zip-open-8"]).update(is_from_memory=True)
    found = remembered(quotation)
    assert "zip-open-8" not in materials  # it stands on the shelf, and this corset has a busk
    assert (found.prices, found.all_prices) == (2, len(materials))
    assert (found.minutes, found.all_minutes) == (len(operations), len(operations))
    cord = StockItem.objects.get(code="cord-flat-6")
    receive(act(), [Arrival(item=cord, quantity=20_000, value_minor=2600)])
    assert remembered(quotation).prices == 1


def test_the_quotes_page_leads_to_where_memory_is_replaced(draft: QuoteRevision, browser: Browser):
    count = len(draft.snapshot.quotation.options[0].takeoff.labour.operations)
    page = browser.get(f"/quotes/{draft.quote_id}/1/").content.decode()
    assert "prices" not in page
    assert f'<a href="/workroom/minutes/">{count} of {count} minutes</a> are from memory' in page
    StockMaterial.objects.filter(code="cord-flat-6").update(is_from_memory=True)
    table = times_document(default_times())
    cons, *others = table["operations"]
    set_minutes({**table, "operations": [{**cons, "setup_min": 80}, *others]})
    page = browser.get(f"/quotes/{draft.quote_id}/1/").content.decode()
    assert '<a href="/shelf/?price=True">1 of ' in page
    assert f'and <a href="/workroom/minutes/">{count - 1} of {count} minutes</a> are from memory' in page
    assert browser.get("/workroom/minutes/").content.count(b">from memory<") == len(table["operations"]) - 1


def test_a_workroom_that_knows_everything_is_told_nothing(draft: QuoteRevision, browser: Browser):
    known = replace(
        default_times(),
        operations=tuple(replace(row, since="2026-11-02T10:00:00+00:00") for row in default_times().operations),
    )
    save_times(workroom(), times_document(known))
    assert b"from memory" not in browser.get(f"/quotes/{draft.quote_id}/1/").content


def test_the_clients_offer_never_says_it(sent: QuoteRevision, browser: Browser, books: User):
    StockMaterial.objects.update(is_from_memory=True)
    assert b"are from memory" in browser.get(f"/quotes/{sent.quote_id}/1/").content
    assert b"memory" not in browser.get(f"/quotes/{sent.quote_id}/1/client/").content
    pages = PdfReader(BytesIO(browser.get(f"/quotes/{sent.quote_id}/1/quote.pdf").content)).pages
    offer = " ".join(page.extract_text() for page in pages)
    assert "Odile Farrant" in offer
    assert "memory" not in offer
