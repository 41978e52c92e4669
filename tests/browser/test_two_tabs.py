"""The same work in two tabs, and the back button: nothing is lost, nothing is done twice. The rules are the product's own;
that a browser sends a form again after going back is how HTML describes history traversal (from memory)."""

from decimal import Decimal

from django.contrib.auth.models import User
from playwright.sync_api import expect
from support_hand import Hand

from quotes.models import Client, PatternRevision, Quote, QuoteRevision


def page_of(draft: QuoteRevision, place: str = "") -> str:
    return f"/quotes/{draft.quote_id}/{draft.number}/{place}"


def extras_of(draft: QuoteRevision) -> list[tuple[str, Decimal]]:
    draft.refresh_from_db()
    return [(extra["what"], Decimal(extra["amount"])) for extra in draft.inputs["extras"]]


def write_extra(hand: Hand, what: str, amount: str) -> None:
    hand.page.get_by_label("What").first.fill(what)
    hand.page.get_by_label("Amount").first.fill(amount)
    hand.press("button", "Keep")


def test_a_draft_changed_in_two_tabs_keeps_the_first_change_and_says_so_in_the_second(draft: QuoteRevision, hand: Hand):
    other = hand.tab()
    for tab in (hand, other):
        tab.open(page_of(draft, "extras/"))
    write_extra(hand, "Beaded fringe", "40")
    hand.page.wait_for_url(f"**{page_of(draft)}")
    with other.refused(422):
        write_extra(other, "Embroidery", "25")
    other.sees("The quote was changed in another window since this page was opened.")
    # What was typed still stands there to be copied.
    expect(other.page.get_by_label("What").first).to_have_value("Embroidery")
    assert extras_of(draft) == [("Beaded fringe", Decimal(40))]
    other.open(page_of(draft, "extras/"))
    expect(other.page.get_by_label("What").first).to_have_value("Beaded fringe")


def test_send_pressed_in_two_tabs_sends_once(draft: QuoteRevision, hand: Hand):
    other = hand.tab()
    for tab in (hand, other):
        tab.open(page_of(draft, "send/"))
    hand.press("button", "Seal and count as sent")
    hand.sees("Sealed as sent.")
    draft.refresh_from_db()
    sent_at = draft.sent_at
    other.press("button", "Seal and count as sent")
    other.page.wait_for_url(f"**{page_of(draft)}")
    other.sees("This revision was sent before and does not change any more.")
    draft.refresh_from_db()
    assert (draft.state, draft.sent_at) == ("sent", sent_at)
    assert QuoteRevision.objects.count() == 1


def test_a_draft_changed_in_one_tab_is_not_sent_unseen_from_the_other(draft: QuoteRevision, hand: Hand):
    other = hand.tab()
    other.open(page_of(draft, "send/"))
    hand.open(page_of(draft, "extras/"))
    write_extra(hand, "Beaded fringe", "40")
    hand.page.wait_for_url(f"**{page_of(draft)}")
    with other.refused(422):
        other.press("button", "Seal and count as sent")
    other.sees("have changed since this page was opened")
    draft.refresh_from_db()
    assert draft.state == "draft"


def test_send_pressed_twice_at_once_sends_once(draft: QuoteRevision, hand: Hand):
    hand.open(page_of(draft, "send/"))
    hand.page.get_by_role("button", name="Seal and count as sent").dblclick()
    hand.page.wait_for_url(f"**{page_of(draft)}")
    assert QuoteRevision.objects.get().state == "sent"


def test_going_back_after_sending_sends_nothing_again(draft: QuoteRevision, hand: Hand):
    hand.open(page_of(draft))
    hand.press("link", "Send")
    hand.press("button", "Seal and count as sent")
    hand.sees("Sealed as sent.")
    hand.page.go_back()
    hand.sees("This revision was sent before and does not change any more.")
    expect(hand.page.get_by_role("button", name="Seal and count as sent")).to_have_count(0)
    assert [revision.state for revision in QuoteRevision.objects.all()] == ["sent"]
    assert Quote.objects.count() == 1


def fill_start(hand: Hand, pattern: PatternRevision) -> None:
    hand.open("/quotes/new/")
    hand.write("The piece", "Underbust in bottle green")
    hand.write("New client’s name", "Odile Farrant")
    hand.choose("Which", str(pattern.pattern))
    hand.choose("Cloth: outer", "Satin coutil, bottle green")


def test_start_pressed_twice_at_once_starts_one_quote(hand: Hand, books: User, pattern: PatternRevision):
    fill_start(hand, pattern)
    hand.page.get_by_role("button", name="Start", exact=True).dblclick()
    expect(hand.page.get_by_role("heading", level=1, name="Underbust in bottle green")).to_be_visible()
    assert (Quote.objects.count(), Client.objects.count()) == (1, 1)


def test_going_back_after_starting_starts_nothing_again(hand: Hand, books: User, pattern: PatternRevision):
    fill_start(hand, pattern)
    hand.press("button", "Start")
    started = hand.page.get_by_role("heading", level=1, name="Underbust in bottle green")
    expect(started).to_be_visible()
    quote = hand.page.url
    hand.page.go_back()
    hand.sees("This quote was started before.")
    assert hand.page.url == quote
    assert (Quote.objects.count(), Client.objects.count()) == (1, 1)
