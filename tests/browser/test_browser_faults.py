"""The hand itself: what it counts, and that it tells of faults. What a policy refuses: CSP Level 3, by its own event."""

from typing import Any

import pytest
from playwright.sync_api import Browser as Chromium
from support_hand import Hand


def test_presses_are_counted_and_words_are_not(hand: Hand, books: object):
    hand.open("/quotes/")
    hand.press("link", "Start a quote")
    hand.write("The piece", "Underbust")
    hand.choose("Front", "Zip")
    assert hand.presses == 2


@pytest.mark.parametrize(
    ("deed", "event", "word"),
    [
        ("document.body.setAttribute('style', 'color: red')", "console", "policy style-src"),
        ("console.error('a slip')", "console", "a slip"),
        ("throw new Error('a slip')", "pageerror", "a slip"),
        ("fetch('/nowhere/')", "response", "404 for GET"),
        ("fetch('https://elsewhere.example/').catch(() => 0)", "console", "policy connect-src"),
        ("location.assign('https://elsewhere.example/')", "requestfailed", "leaves the host"),
        ("location.assign('https://elsewhere.example/')", "requestfailed", "a request failed"),
    ],
)
def test_a_fault_is_told_of(maker: object, chromium: Chromium, live_server: Any, deed: str, event: Any, word: str):
    faults: list[str] = []
    hand = Hand.at(chromium, live_server.url, faults)
    hand.come_in()
    with hand.page.expect_event(event, lambda _: any(word in fault for fault in faults)):
        hand.page.evaluate(f"() => {{ setTimeout(() => {{ {deed} }}) }}")
    hand.page.context.close()
