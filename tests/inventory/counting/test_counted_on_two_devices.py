"""One lot counted on two devices, and what moved while a form stood open.

A count says what lies there once; whoever counted against an older book counts again: common practice, no source.
"""

from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse
from support_shelf import act
from support_stocktake import codes, counted, line, on_hand, posted

from inventory.counting.stocktaking import counts_fingerprint
from inventory.ground.findings import Refused
from inventory.models import Lot, Posting, Stocktake
from inventory.stock.audit import audit
from inventory.stock.ledger import count as count_lots
from inventory.stock.ledger import give_back, issue

pytestmark = pytest.mark.django_db


def opened(browser: Browser, path: str) -> dict[str, str]:
    """What the form of a page carries unseen."""
    form = browser.get(path).context["form"]
    return {bound.html_name: str(bound.value()) for bound in form.hidden_fields()}


def told(browser: Browser, path: str, said: dict[str, str]) -> list[str]:
    return [str(message) for message in browser.post(path, said, follow=True).context["messages"]]


def test_one_lot_counted_on_two_devices_is_posted_once(browser: Browser, cord: Lot):
    path = reverse("inventory:lot-count", args=[cord.pk])
    first, second = opened(browser, path), opened(browser, path)
    said = {"quantity": "9.8", "why": "yearly"}
    assert told(browser, path, {**first, **said}) == ["Count this lot: done."]
    (words,) = told(browser, path, {**second, **said})
    assert words.startswith("It moved since this form was opened, so count it again: counted −0.2 m at ")
    assert on_hand(cord) == 9_800
    # The same form once more is a double click, and is answered as the first was.
    assert told(browser, path, {**first, **said}) == ["Count this lot: done."]
    assert on_hand(cord) == 9_800
    assert audit().differences == ()


def test_a_balance_that_went_and_came_back_is_not_the_one_that_was_counted(browser: Browser, cord: Lot):
    path = reverse("inventory:lot-count", args=[cord.pk])
    seen = opened(browser, path)
    issue(act(), lot=cord, quantity=2_000, job="Q1")
    give_back(act(), lot=cord, quantity=2_000, job="Q1")
    for quantity in ("8", "10"):
        (words,) = told(browser, path, {**seen, "quantity": quantity, "why": "yearly"})
        assert "issued −2 m" in words
        assert "returned +2 m" in words
    assert not Posting.objects.filter(kind="count").exists()


def test_a_line_is_counted_again_where_its_lot_moved_under_the_open_form(count: Stocktake, browser: Browser, cord: Lot):
    path = reverse("inventory:count-line", args=[count.number, line(count, cord).pk])
    seen = opened(browser, path)
    issue(act(), lot=cord, quantity=3_000, job="Q1")
    (words,) = told(browser, path, {**seen, "amount": "10"})
    assert "issued −3 m" in words
    assert line(count, cord).counted is None
    told(browser, path, {**opened(browser, path), "amount": "7"})
    assert line(count, cord).difference == 0


def test_a_stocktake_does_not_post_again_what_was_counted_apart(count: Stocktake, browser: Browser, cord: Lot):
    counted(count, cord=9_800)
    count_lots(act("found short"), [(cord, -200)])
    with pytest.raises(Refused, match=r"counted apart since \(counted −0\.2 m") as refused:
        posted(count)
    assert codes(refused) == ["stocktake.counted-apart"]
    assert on_hand(cord) == 9_800
    counted(count, cord=9_800)
    assert posted(count) is None
    assert on_hand(cord) == 9_800


def test_what_moved_since_the_review_was_opened_is_looked_at_again(count: Stocktake, browser: Browser, cord: Lot):
    counted(count, cord=9_800)
    path = reverse("inventory:stocktake-review", args=[count.number])
    seen = browser.get(path).context["was_seen"]
    issue(act(), lot=cord, quantity=1_000, job="Q1")
    said = {"key": str(uuid4()), "was_seen": seen, "why": "yearly"}
    refused = browser.post(path, said)
    assert refused.status_code == 422
    assert "or moved since this page was opened. Look at the list again." in refused.content.decode()
    assert on_hand(cord) == 9_000
    assert browser.post(path, {**said, "was_seen": counts_fingerprint(count.lines.all())}).status_code == 302
    assert on_hand(cord) == 8_800
