"""By Tab, Enter, Space and arrows alone. Sources: WCAG 2.2, success criteria 2.1.1 (keyboard), 2.4.1 (bypass blocks) and
2.4.7 (focus visible), and what the keys do in HTML’s own controls; from memory.
"""

from django.contrib.auth.models import User
from playwright.sync_api import expect
from support_hand import Hand

from quotes.models import QuoteRevision


def pick_by_arrows(hand: Hand, label: str, option: str) -> None:
    """In the list that has the focus: down until the option is taken."""
    field = hand.tab_to("combobox", label)
    for _ in field.locator("option").all():
        if option in field.evaluate("list => list.selectedOptions[0].innerText"):
            return
        hand.page.keyboard.press("ArrowDown")
    raise AssertionError(f"Arrows do not reach {option} in {label}.")


def come_in(hand: Hand) -> None:
    hand.open("/login/")
    for field, words in (("Username", "maker"), ("Password", "pins and chalk")):
        while hand.page.evaluate("document.activeElement.id") != hand.page.get_by_label(field).get_attribute("id"):
            hand.page.keyboard.press("Tab")
        hand.page.keyboard.type(words)
    hand.page.keyboard.press("Enter")
    expect(hand.page.get_by_role("heading", level=1, name="Today")).to_be_visible()
