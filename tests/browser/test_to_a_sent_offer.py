"""The whole way to a sent offer, its presses counted: from the first day of an empty workroom, from a file, from measures.

How many presses are few enough is the product's own measure: 8 from a file, 9 from measures, from the login on.
"""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from playwright.sync_api import expect
from support_hand import PHONE, Hand

from quotes.clients.clients import keep_measures
from quotes.models import Client, KeptPattern, Quote, QuoteRevision

PATTERNS = Path(__file__).parents[2] / "fixtures" / "patterns"
GIRTHS_CM = {
    "Top edge or bust: girth": "92",
    "Underbust: girth": "78",
    "Waist: girth": "72",
    "Bottom edge: girth": "94",
}


@pytest.fixture
def folder(settings, tmp_path: Path) -> Iterator[Path]:
    """A data folder and a time zone of its own, both put back."""
    settings.DATA_DIR = tmp_path
    settings.TIME_ZONE = "Europe/Amsterdam"
    return tmp_path


def hand_in(hand: Hand, name: str) -> None:
    """Choose a file: one press."""
    hand.page.get_by_label("File", exact=True).set_input_files(PATTERNS / name)
    hand.presses += 1


def write_girths(hand: Hand) -> None:
    for label, girth in GIRTHS_CM.items():
        hand.write(label, girth)


def seal(hand: Hand) -> None:
    hand.press("link", "Send")
    hand.press("button", "Seal and count as sent")
    hand.sees("Sealed as sent.")


def test_the_first_day_of_an_empty_workroom_ends_with_a_sent_offer(
    transactional_db: None, folder: Path, new_hand: Callable[..., Hand]
):
    hand = new_hand()
    hand.open("/")
    hand.write("Username", "nell")
    hand.page.get_by_label("Password", exact=True).fill("pins and chalk")
    hand.page.get_by_label("Password, once more").fill("pins and chalk")
    hand.write("Name of the workroom", "Quayside Stays")
    hand.write("You wish to earn", "24000")
    hand.write("Overhead a month", "650")
    hand.press("button", "Open the workroom")
    expect(hand.page.get_by_role("heading", level=1, name="Start a quote")).to_be_visible()
    hand.write("The piece", "Underbust in red")
    hand.write("New client’s name", "Mira Solveig")
    write_girths(hand)
    hand.choose("Cloth: outer", "red")
    hand.press("button", "Start")
    hand.sees("prices and")
    hand.sees("from memory")
    seal(hand)
    sent = QuoteRevision.objects.get()
    assert sent.state == "sent"
    assert "red" in sent.snapshot.quotation.options[0].name


def test_from_a_file_to_a_sent_offer(books: User, new_hand: Callable[..., Hand]):
    hand = new_hand()
    hand.come_in()
    hand.press("link", "Start a quote")
    hand.write("The piece", "Underbust in bottle green")
    hand.write("New client’s name", "Odile Farrant")
    hand.choose("Pattern", "From a file")
    hand_in(hand, "underbust.json")
    hand.choose("Cloth: outer", "bottle green")
    hand.press("button", "Start")
    expect(hand.page.get_by_role("heading", level=1, name="Underbust in bottle green")).to_be_visible()
    seal(hand)
    assert hand.presses <= 8
    sent = QuoteRevision.objects.get()
    assert (sent.state, sent.pattern.source_name) == ("sent", "underbust.json")


def test_from_measures_to_a_sent_offer(books: User, new_hand: Callable[..., Hand]):
    known = Client.objects.create(name="Odile Farrant")
    takes = {"waist": [720.0], "underbust": [780.0], "full-hip": [940.0]}
    keep_measures(client=known, taken_on=timezone.localdate(), unit="cm", notes="", takes_mm=takes, user=books)
    hand = new_hand()
    hand.come_in()
    hand.press("link", "Start a quote")
    hand.write("The piece", "Underbust in bottle green")
    hand.choose("Client", "Odile Farrant")
    expect(hand.page.get_by_label("Waist: girth")).to_have_value("72")
    hand.choose("Pattern", "From measures")
    hand.choose("Cloth: outer", "bottle green")
    hand.press("button", "Start")
    expect(hand.page.get_by_role("heading", level=1, name="Underbust in bottle green")).to_be_visible()
    seal(hand)
    assert hand.presses <= 9
    sent = QuoteRevision.objects.get()
    assert (sent.state, sent.pattern.source_name, sent.quote.client) == ("sent", "measures", known)


def test_a_file_that_is_refused_costs_nothing_that_was_typed_or_chosen(books: User, hand: Hand):
    hand.open("/quotes/new/")
    hand.write("The piece", "Underbust in bottle green")
    hand.write("New client’s name", "Odile Farrant")
    hand.choose("Pattern", "From a file")
    hand_in(hand, "underbust.json")
    hand.choose("Cloth: outer", "bottle green")
    hand.page.get_by_label("Wanted by").fill("2026-01-01")
    with hand.refused(422):
        hand.press("button", "Start")
    hand.sees("This day has passed.")
    hand.page.get_by_label("Wanted by").fill("")
    hand.press("button", "Start")
    expect(hand.page.get_by_role("heading", level=1, name="Underbust in bottle green")).to_be_visible()
    assert (Quote.objects.count(), KeptPattern.objects.count(), Client.objects.count()) == (1, 1, 1)


def test_another_construction_shows_its_layers_and_keeps_what_was_chosen(books: User, hand: Hand):
    hand.open("/quotes/new/")
    hand.choose("Cloth: outer", "bottle green")
    hand.choose("Front", "Zip")
    hand.choose("Construction", "floating lining")
    expect(hand.field("Cloth: lining")).to_be_visible()
    expect(hand.field("Cloth: outer").get_by_role("radio", name="bottle green")).to_be_checked()
    expect(hand.page.get_by_label("Front", exact=True)).to_have_value("zip")


def test_a_quote_is_started_from_measures_on_a_phone(books: User, new_hand: Callable[..., Hand]):
    hand = new_hand(PHONE)
    hand.come_in()
    hand.press("link", "Start a quote")
    hand.write("The piece", "Underbust in bottle green")
    hand.write("New client’s name", "Odile Farrant")
    hand.choose("Pattern", "From measures")
    write_girths(hand)
    hand.choose("Cloth: outer", "bottle green")
    hand.press("button", "Start")
    expect(hand.page.get_by_role("heading", level=1, name="Underbust in bottle green")).to_be_visible()
