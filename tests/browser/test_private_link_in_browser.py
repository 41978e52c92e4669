"""A client at a private link. The German words are those of the product's own catalogue, read by a German; rules are the
product's own."""

import re
from collections.abc import Callable
from datetime import timedelta

from django.contrib.auth.models import User
from django.core.signing import Signer
from django.utils import timezone
from playwright.sync_api import expect
from support_browser import sent_to
from support_hand import Hand

from quotes.models import Client, OfferAct, OfferLink, PatternRevision, QuoteRevision
from quotes.offers.links import make_link, revoke_link, token_of


def link_made_by(maker: Hand, revision: QuoteRevision) -> str:
    """The address, as the maker reads it after making a link on the page of the quote."""
    maker.open(f"/quotes/{revision.quote_id}/{revision.number}/")
    maker.press("link", "Private link for the client")
    maker.press("button", "Make a link")
    return maker.page.get_by_label("Address of the link").input_value()


def test_a_german_reads_asks_and_accepts_once(german: QuoteRevision, hand: Hand, new_hand: Callable[..., Hand]):
    address = link_made_by(hand, german)
    client = new_hand()
    client.open(address)
    expect(client.page.locator("html")).to_have_attribute("lang", "de")
    client.sees("Die Ausführungen im Vergleich")
    compared = client.page.locator("table.compare")
    expect(compared.get_by_role("columnheader")).to_have_count(2)
    expect(compared.get_by_role("row", name="Stoff außen")).to_contain_text("bottle green")
    expect(compared.get_by_role("row", name="Stoff außen")).to_contain_text("black")
    client.write("Ihre Frage", "Geht es auch in Nachtblau?")
    client.press("button", "Frage senden")
    client.sees("Noch nicht beantwortet.")
    client.choose("Ausführung", "Eine Lage")
    client.write("Ihr Name", "Ottilie Brandis")
    before = client.page.url
    client.press("button", "Ich nehme an")
    standing = client.page.get_by_role("status")
    expect(standing).to_contain_text("Angenommen am")
    expect(standing).to_contain_text("Eine Lage")
    deposit = german.snapshot.quotation.option("Eine Lage").deposit[0]
    assert f"{deposit:.2f}".replace(".", ",") in standing.inner_text().replace(".", "")
    expect(client.page.get_by_role("heading", name="Zahlung")).to_be_visible()
    client.sees("Bank of Marl, account 12 34, name the number of the offer")
    assert client.presses == 3
    assert client.page.url == before

    client.page.reload()
    expect(standing).to_contain_text("Angenommen am")
    # The page is kept nowhere, so that going back asks for it anew; a form that is old is pressed in the next test.
    client.page.go_back()
    expect(standing).to_contain_text("Eine Lage")
    expect(client.page.get_by_role("button", name="Ich nehme an")).to_have_count(0)
    assert [act.option for act in OfferAct.objects.filter(kind=OfferAct.Kind.ACCEPTED)] == ["Eine Lage"]
    assert OfferAct.objects.filter(kind=OfferAct.Kind.ASKED).count() == 1
    german.refresh_from_db()
    assert (german.state, german.accepted_option) == ("accepted", "Eine Lage")

    hand.open("/")
    for heading in ("Accepted, not begun", "The client asks"):
        expect(hand.page.get_by_role("heading", name=heading)).to_be_visible()
    hand.press("link", "To the bench")
    hand.sees(re.compile("for Ottilie Brandis, Eine Lage"))


def test_the_same_offer_in_two_tabs_is_accepted_in_one(
    german: QuoteRevision, books: User, new_hand: Callable[..., Hand]
):
    link = make_link(german, expires_at=timezone.now() + timedelta(days=5), user=books)
    first = new_hand()
    second = first.tab()
    for client in (first, second):
        client.open(f"/offer/{token_of(link)}/")
    for client, option in ((first, "Eine Lage"), (second, "Zwei Lagen")):
        client.choose("Ausführung", option)
        client.write("Ihr Name", "Ottilie Brandis")
        client.press("button", "Ich nehme an")
        expect(client.page.get_by_role("status")).to_contain_text("Eine Lage")
    assert [act.option for act in OfferAct.objects.all()] == ["Eine Lage"]


def test_a_button_pressed_twice_at_once_accepts_once(german: QuoteRevision, books: User, new_hand: Callable[..., Hand]):
    link = make_link(german, expires_at=timezone.now() + timedelta(days=5), user=books)
    client = new_hand()
    client.open(f"/offer/{token_of(link)}/")
    client.choose("Ausführung", "Eine Lage")
    client.write("Ihr Name", "Ottilie Brandis")
    client.page.get_by_role("button", name="Ich nehme an").dblclick()
    expect(client.page.get_by_role("status")).to_contain_text("Angenommen am")
    assert OfferAct.objects.count() == 1


def test_links_that_lead_nowhere_answer_alike(
    german: QuoteRevision, pattern: PatternRevision, books: User, new_hand: Callable[..., Hand]
):
    """Forged, guessed, expired, revoked, and of another client's offer that was withdrawn: one page, byte by byte."""
    soon = timezone.now() + timedelta(days=1)
    good, expired, revoked = (make_link(german, expires_at=soon, user=books) for _ in range(3))
    OfferLink.objects.filter(pk=expired.pk).update(expires_at=timezone.now() - timedelta(seconds=1))
    revoke_link(revoked)
    other = make_link(sent_to(Client(name="Odile Farrant"), pattern, books), expires_at=soon, user=books)
    nonce, signature = token_of(good).rsplit(":", 1)
    tokens = {
        "another signature": f"{nonce}:{signature[:-1]}{'A' if signature[-1] != 'A' else 'B'}",
        "another client's signature": f"{nonce}:{token_of(other).rsplit(':', 1)[1]}",
        "no signature": nonce,
        "another key": Signer(salt="quotes.offers", key="another").sign(nonce),
        "guessed": Signer(salt="quotes.offers").sign("guessed"),
        "expired": token_of(expired),
        "revoked": token_of(revoked),
    }
    client = new_hand()
    bodies = set()
    for token in tokens.values():
        with client.refused(404):
            answer = client.page.goto(f"/offer/{token}/")
        assert answer is not None
        bodies.add(answer.body())
        client.sees("Dieser Link führt nirgendwohin (mehr).")
    assert len(bodies) == 1
    client.open(f"/offer/{token_of(other)}/")
    client.sees_not("Ottilie Brandis")
    # What another client's page says of itself leads to that client's offer alone.
    client.open(f"/offer/{token_of(good)}/")
    client.sees("Für Ottilie Brandis")
    client.sees_not("Odile Farrant")
