"""Operations of a maker's own that take part in the rules of the bench: added on the page, held back like the shipped ones.

Outside: the order of the trade (common practice): the waist tape is sewn before any channel that crosses it.
"""

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_bench import job_of, operation

from quotes.desk.quoting import offer_of_today, send, start_quote
from quotes.labour.operations import OperationRole
from quotes.models import Client, KeptConstruction, PatternRevision
from quotes.seal.snapshot import offer_fingerprint
from quotes.workroom.settings import copy_construction, save_construction, standard_times
from studio.bench.ticking import tick_operation
from studio.models import Job

pytestmark = pytest.mark.django_db

CASED = {
    "code": "CASED",
    "name": "Channels in casings of my own",
    "group": "making",
    "driver": "bone",
    "setup_min": "0",
    "unit_min": "2",
}


def add(browser: Browser, **said: str) -> None:
    assert browser.post("/workroom/minutes/add/", {**CASED, **said}).status_code == 302


def job_with_casings(books: User, pattern: PatternRevision, option: dict) -> Job:
    """A job in a copied construction that asks for the maker's operation before its waist tape."""
    kept = copy_construction(KeptConstruction.objects.get(code="two-layer"), title="Mine", code="mine")
    rows = kept.document["operations"]
    place = [row["code"] for row in rows].index("TAPE")
    save_construction(kept, {**kept.document, "operations": [*rows[:place], {"code": "CASED"}, *rows[place:]]})
    client, options = Client(name="Odile Farrant"), [{**option, "construction": "mine"}]
    draft = start_quote(client=client, title="Cased", due=None, pattern=pattern, options=options, user=books)
    seen = offer_fingerprint(offer_of_today(draft))
    sent = send(revision=draft, valid_until=timezone.localdate(), seen=seen, user=books)
    return job_of(sent, books)


def test_a_makers_own_channels_wait_for_the_waist_tape(
    books: User, browser: Browser, pattern: PatternRevision, two_layers: dict
):
    add(browser, role="channels")
    job = job_with_casings(books, pattern, two_layers)
    own = operation(job, "CASED")
    tick = reverse("operation-tick", args=[job.pk, own.pk])
    refused = browser.post(tick, follow=True).content.decode()
    assert "The waist tape goes in before any channel" in refused
    assert operation(job, "CASED").done_at is None
    tick_operation(operation(job, "TAPE"), user=books)
    browser.post(tick)
    assert operation(job, "CASED").done_at is not None


def test_an_operation_takes_part_as_nothing_unless_it_is_said(
    books: User, browser: Browser, pattern: PatternRevision, two_layers: dict
):
    add(browser)
    assert {row.code: row.role for row in standard_times().operations}["CASED"] is OperationRole.NONE
    job = job_with_casings(books, pattern, two_layers)
    tick_operation(operation(job, "CASED"), user=books)
    assert operation(job, "CASED").done_at is not None


def test_the_page_offers_every_role_in_plain_words(books: User, browser: Browser):
    form = browser.get("/workroom/minutes/add/").context["form"]
    assert [words for _, words in form.fields["role"].choices] == [
        "Nothing",
        "Fitting",
        "Cutting",
        "First pass",
        "Later passes",
        "Waist tape",
        "Channels",
        "Grommets",
        "Binding",
        "Hand-over",
        "Closing",
    ]
    assert browser.post("/workroom/minutes/add/", {**CASED, "role": "juggling"}).status_code == 422
