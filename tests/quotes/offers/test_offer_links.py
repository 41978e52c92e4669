"""Private links: who may read, ask and accept. Rules are the product's own; headers as RFC 9111 and the robots
meta standard name them (from memory)."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.core.signing import Signer
from django.db import DatabaseError, transaction
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from inventory.ground.findings import Refused
from quotes.clients.clients import erase_client, export_client
from quotes.desk.quoting import offer_of_today, revise, send, start_quote
from quotes.languages.catalogue import catalogue
from quotes.models import Client, OfferAct, OfferLink, PatternRevision, QuoteRevision
from quotes.offers.links import accept_at, answer, ask_at, make_link, revoke_link, token_of
from quotes.seal.snapshot import offer_fingerprint
from studio.demo.commissions import option

pytestmark = pytest.mark.django_db


def sent(client: Client, pattern: PatternRevision, user: User) -> QuoteRevision:
    draft = start_quote(
        client=client,
        title="Underbust in bottle green",
        due=None,
        pattern=pattern,
        options=[
            option("Two layers, busk", "two-layer", {"outer": "coutil-satin-bottle", "inner": "coutil-white"}),
            option("One layer, zip", "single-layer", {"outer": "coutil-black"}, front="zip"),
        ],
        user=user,
    )
    seen = offer_fingerprint(offer_of_today(draft))
    return send(revision=draft, valid_until=timezone.localdate() + timedelta(days=9), seen=seen, user=user)


@pytest.fixture
def revision(books: User, pattern: PatternRevision) -> QuoteRevision:
    return sent(Client(name="Odile Farrant"), pattern, books)


@pytest.fixture
def link(revision: QuoteRevision, books: User) -> OfferLink:
    return make_link(revision, expires_at=timezone.now() + timedelta(days=5), user=books)


def address(link: OfferLink) -> str:
    return reverse("quotes:private-offer", args=[token_of(link)])


def key(page: str, prefix: str) -> str:
    found = re.search(rf'name="{prefix}-key" value="([^"]+)"', page)
    assert found
    return found[1]


def test_a_stranger_with_the_link_reads_the_offer_and_nothing_that_is_kept(link: OfferLink):
    answer = Browser().get(address(link))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert link.revision.quote.title in page
    assert "margin" not in page.lower()
    assert answer["Cache-Control"] == "private, no-store"
    assert "noindex" in answer["X-Robots-Tag"]
    assert not re.search(r'(?:src|href|action)="(?:https?:)?//', page)
    assert reverse("quotes:list") not in page


def test_links_that_lead_nowhere_answer_alike(link: OfferLink, revision: QuoteRevision, books: User):
    good = token_of(link)
    expired = make_link(revision, expires_at=timezone.now() + timedelta(days=1), user=books)
    OfferLink.objects.filter(pk=expired.pk).update(expires_at=timezone.now() - timedelta(seconds=1))
    revoked = make_link(revision, expires_at=timezone.now() + timedelta(days=1), user=books)
    revoke_link(revoked)
    tokens = [
        good[:-1] + ("A" if good[-1] != "A" else "B"),  # another signature
        "x" + good,
        link.nonce,  # unsigned
        Signer(salt="quotes.offers", key="another").sign(link.nonce),
        Signer(salt="other").sign(link.nonce),
        Signer(salt="quotes.offers").sign("guessed"),
        token_of(expired),
        token_of(revoked),
    ]
    bodies = set()
    for token in tokens:
        for ask in (Browser().get, Browser().post):
            answer = ask(reverse("quotes:private-offer", args=[token]))
            assert answer.status_code == 404, token
            bodies.add(answer.content)
    assert len(bodies) == 1


def test_a_client_accepts_in_their_name_once(link: OfferLink):
    site = Browser()
    page = site.get(address(link)).content.decode()
    option = link.revision.snapshot.quotation.options[0].name
    sent = {"accept-key": key(page, "accept"), "accept-option": option, "accept-name": "Odile Farrant"}
    for _ in range(2):  # the same press twice, and the back button
        assert site.post(address(link), sent).status_code == 302
    link.revision.refresh_from_db()
    assert (link.revision.state, link.revision.accepted_option) == ("accepted", option)
    act = OfferAct.objects.get()
    assert (act.name, act.option, act.kind) == ("Odile Farrant", option, "accepted")
    after = site.get(address(link)).content.decode()
    assert "Accepted on" in after
    assert "accept-key" not in after
    site.post(address(link), {**sent, "accept-key": str(uuid4())})
    assert OfferAct.objects.count() == 1


def test_nothing_is_accepted_without_a_name_or_an_option_of_the_offer(link: OfferLink):
    site = Browser()
    page = site.get(address(link)).content.decode()
    option = link.revision.snapshot.quotation.options[0].name
    for changed in ({"accept-name": " "}, {"accept-option": "Free of charge"}):
        sent = {"accept-key": key(page, "accept"), "accept-option": option, "accept-name": "Odile", **changed}
        assert site.post(address(link), sent).status_code == 422
    assert not OfferAct.objects.exists()


def test_a_replaced_offer_is_not_accepted(link: OfferLink, books: User):
    QuoteRevision.objects.filter(pk=link.revision_id).update(state=QuoteRevision.State.REPLACED)
    site = Browser()
    page = site.get(address(link)).content.decode()
    assert "newer offer" in page
    option = link.revision.snapshot.quotation.options[0].name
    site.post(address(link), {"accept-key": str(uuid4()), "accept-option": option, "accept-name": "Odile"})
    assert not OfferAct.objects.exists()


def test_a_question_is_asked_once_answered_and_read(link: OfferLink, browser: Browser):
    site = Browser()
    page = site.get(address(link)).content.decode()
    sent = {"ask-key": key(page, "ask"), "ask-words": "Could it be <b>navy</b>?"}
    site.post(address(link), sent)
    site.post(address(link), sent)
    act = OfferAct.objects.get()
    assert "Not answered yet." in site.get(address(link)).content.decode()
    inside = browser.get(reverse("quotes:offer-links", args=[link.revision.quote_id, link.revision.number]))
    assert "Could it be &lt;b&gt;navy&lt;/b&gt;?" in inside.content.decode()
    browser.post(reverse("quotes:offer-answer", args=[act.pk]), {"words": "It could."})
    assert "It could." in site.get(address(link)).content.decode()


def test_what_a_client_did_stays(link: OfferLink):
    ask_at(link, words="When?", key=uuid4())
    act = OfferAct.objects.get()
    answer(act, words="In May.")
    with pytest.raises(DatabaseError), transaction.atomic():
        OfferAct.objects.update(words="Never mind")
    with pytest.raises(DatabaseError), transaction.atomic():
        OfferAct.objects.all().delete()


def test_a_draft_has_no_link(revision: QuoteRevision, books: User, browser: Browser):
    draft = revise(revision=revision, user=books)
    page = reverse("quotes:offer-links", args=[draft.quote_id, draft.number])
    answer = browser.post(page, {"expires": (timezone.localdate() + timedelta(days=3)).isoformat()})
    assert answer.status_code == 422
    assert not OfferLink.objects.exists()


def test_a_german_reads_and_accepts_in_german(books: User, pattern: PatternRevision):
    revision = sent(Client(name="Ottilie Brandis", language="de"), pattern, books)
    link = make_link(revision, expires_at=timezone.now() + timedelta(days=5), user=books)
    site = Browser()
    page = site.get(address(link)).content.decode()
    for words in ('lang="de"', "Stoff außen", "Ich nehme an", "Ihr Name", "Die Ausführungen im Vergleich"):
        assert words in page
    assert not [words for words in ("Cloth outside", "Your name", "Deposit", "Fittings") if words in page]
    taken = {"accept-key": key(page, "accept"), "accept-option": "One layer, zip", "accept-name": "Ottilie Brandis"}
    site.post(address(link), taken)
    assert "Angenommen am" in site.get(address(link)).content.decode()
    deposit = revision.snapshot.quotation.option("One layer, zip").deposit[0]
    assert catalogue("de").money(deposit, "EUR") in site.get(address(link)).content.decode()


def test_an_acceptance_that_fails_keeps_nothing(link: OfferLink):
    with pytest.raises(Refused):
        accept_at(link, option="No such option", name="Odile", key=uuid4())
    assert not OfferAct.objects.exists()


def test_of_an_erased_client_stays_what_was_done_and_none_of_their_words(link: OfferLink, books: User):
    ask_at(link, words="Is the lining cotton, for Odile?", key=uuid4())
    accept_at(link, option="Two layers, busk", name="Odile Farrant", key=uuid4())
    accepted_at = OfferAct.objects.get(kind="accepted").at
    exported = export_client(link.revision.quote.client)
    assert [row["did"] for row in exported["at_offers"]] == ["asked", "accepted"]
    erase_client(link.revision.quote.client)
    acts = {act.kind: act for act in OfferAct.objects.all()}
    assert not any("Odile" in act.name + act.words + act.answer for act in acts.values())
    assert (acts["accepted"].option, acts["accepted"].at) == ("Two layers, busk", accepted_at)
    assert Browser().get(address(link)).status_code == 404


def test_the_database_lets_no_other_words_take_the_place_of_a_clients(link: OfferLink):
    ask_at(link, words="Is the lining cotton?", key=uuid4())
    with pytest.raises(DatabaseError, match="never changes"), transaction.atomic():
        OfferAct.objects.update(words="Is the lining silk?")
