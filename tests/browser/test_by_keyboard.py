"""By Tab, Enter, Space and arrows alone. Sources: WCAG 2.2, success criteria 2.1.1 (keyboard), 2.4.1 (bypass blocks) and
2.4.7 (focus visible), and what the keys do in HTML’s own controls; from memory.
"""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from playwright.sync_api import expect
from support_hand import Hand

from quotes.models import PatternRevision, QuoteRevision
from quotes.offers.links import make_link, token_of


@pytest.fixture
def keyboard(maker: User, new_hand: Callable[..., Hand]) -> Hand:
    """A hand at the door whose pointer is never used."""
    found = new_hand()
    found.open("/login/")
    for label, words in (("Username", "maker"), ("Password", "pins and chalk")):
        found.tab_to(found.page.get_by_label(label))
        found.page.keyboard.type(words)
    found.page.keyboard.press("Enter")
    expect(found.page.get_by_role("heading", level=1, name="Today")).to_be_visible()
    return found


def type_into(hand: Hand, label: str, words: str) -> None:
    hand.tab_to(hand.page.get_by_label(re.compile(f"^{label}")))
    hand.page.keyboard.type(words)


def pick_in_list(hand: Hand, label: str, option: str) -> None:
    found = hand.page.get_by_label(label, exact=True)
    hand.tab_to(found)
    for _ in found.locator("option").all():
        if option in found.evaluate("list => list.selectedOptions[0].innerText"):
            return
        hand.page.keyboard.press("ArrowDown")
    raise AssertionError(f"Arrows do not reach {option} in {label}.")


def pick_among_buttons(hand: Hand, label: str, option: str) -> None:
    """None is taken yet: Tab comes to the first, Space takes it, arrows take the next."""
    radios = hand.field(label).get_by_role("radio")
    wanted = hand.field(label).get_by_role("radio", name=option)
    hand.tab_to(radios.first)
    hand.page.keyboard.press("Space")
    for _ in radios.all():
        if wanted.is_checked():
            return
        hand.page.keyboard.press("ArrowDown")
    raise AssertionError(f"Arrows do not reach {option} in {label}.")


def enter(hand: Hand, role: str, name: str) -> None:
    hand.tab_to(hand.page.locator("main").get_by_role(role, name=name, exact=True))
    hand.page.keyboard.press("Enter")


def test_a_quote_is_started_and_sent_by_the_keyboard(keyboard: Hand, books: User, pattern: PatternRevision):
    enter(keyboard, "link", "Start a quote")
    type_into(keyboard, "The piece", "Underbust in bottle green")
    type_into(keyboard, "New client’s name", "Odile Farrant")
    pick_in_list(keyboard, "Which", str(pattern.pattern))
    pick_among_buttons(keyboard, "Cloth: outer", "Satin coutil, bottle green")
    pick_in_list(keyboard, "Front", "Zip")
    enter(keyboard, "button", "Start")
    expect(keyboard.page.get_by_role("heading", level=1, name="Underbust in bottle green")).to_be_visible()
    enter(keyboard, "link", "Send")
    keyboard.tab_to(keyboard.page.get_by_role("button", name="Seal and count as sent"))
    keyboard.page.keyboard.press("Space")
    keyboard.sees("Sealed as sent.")
    sent = QuoteRevision.objects.get()
    option = sent.snapshot.quotation.options[0]
    assert (sent.state, sent.quote.client.name, option.takeoff.front.kind) == ("sent", "Odile Farrant", "zip")
    assert "bottle green" in option.name
    assert keyboard.presses == 0


def test_the_first_tab_leads_past_the_bar(keyboard: Hand, books: User):
    keyboard.open("/quotes/")
    keyboard.page.keyboard.press("Tab")
    skip = keyboard.page.get_by_role("link", name="To the page")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    keyboard.page.keyboard.press("Enter")
    keyboard.page.keyboard.press("Tab")
    assert keyboard.page.evaluate("document.querySelector('main').contains(document.activeElement)")
    expect(keyboard.page.locator("header :focus")).to_have_count(0)


def test_a_client_accepts_by_the_keyboard(german: QuoteRevision, books: User, new_hand: Callable[..., Hand]):
    link = make_link(german, expires_at=timezone.now() + timedelta(days=5), user=books)
    client = new_hand()
    client.open(f"/offer/{token_of(link)}/")
    pick_among_buttons(client, "Ausführung", "Eine Lage")
    type_into(client, "Ihr Name", "Ottilie Brandis")
    client.page.keyboard.press("Enter")
    expect(client.page.get_by_role("status")).to_contain_text("Eine Lage")
    assert client.presses == 0
