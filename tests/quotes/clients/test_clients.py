"""Clients: measures as they were taken, health answers apart, everything exportable and erasable."""

import json
from datetime import date

import pytest
from django.contrib.auth.models import User

from quotes.clients.clients import erase_client, export_client, keep_health, keep_measures
from quotes.desk.quoting import change_draft, revise
from quotes.models import Client, HealthNote, Measure, QuoteRevision
from quotes.seal.snapshot import fingerprint

SECRET = "had a hernia in 2019"


@pytest.fixture
def client(maker: User) -> Client:
    found = Client.objects.create(name="Mira Solveig", email="mira@example.org", phone="0123")
    takes = {"waist": [723.9, 724.5, 726.0], "underbust": [780.0]}
    keep_measures(client=found, taken_on=date(2026, 11, 1), unit="in", notes="", takes_mm=takes, user=maker)
    keep_health(client=found, answers=SECRET)
    return found


def test_measures_are_kept_to_a_tenth_of_a_millimetre(client: Client):
    """28 1/2 in = 723.9 mm exactly."""
    row = client.measurement_sets.get()
    assert row.takes_mm == {"waist": [723.9, 724.5, 726.0], "underbust": [780.0]}


def test_all_that_is_known_is_exported(client: Client):
    document = json.loads(json.dumps(export_client(client)))
    assert document["health"] == SECRET
    assert document["measurements"][0]["measures_mm"]["waist"] == [723.9, 724.5, 726.0]
    assert document["email"] == "mira@example.org"


def test_empty_answers_erase_the_health_note(client: Client):
    keep_health(client=client, answers="  ")
    assert not HealthNote.objects.exists()


def test_a_client_without_quotes_is_erased_whole(client: Client):
    erase_client(client)
    assert not Client.objects.exists()
    assert not Measure.objects.exists()
    assert not HealthNote.objects.exists()


def test_a_client_with_quotes_leaves_a_place_in_the_books_and_no_name(sent: QuoteRevision):
    person = sent.quote.client
    keep_health(client=person, answers=SECRET)
    erase_client(person)
    person.refresh_from_db()
    assert person.name == f"Erased client {person.pk}"
    assert not HealthNote.objects.exists()
    assert sent.quote.client == person


def test_a_draft_is_addressed_to_the_erased_name_and_a_sent_quote_stays_sealed(sent: QuoteRevision, books: User):
    open_draft = revise(revision=sent, user=books)
    seal = sent.fingerprint
    erase_client(sent.quote.client)
    open_draft.refresh_from_db()
    sent.refresh_from_db()
    assert "Odile Farrant" not in json.dumps(open_draft.figures) + json.dumps(open_draft.inputs)
    assert open_draft.inputs["client"] == f"Erased client {sent.quote.client_id}"
    assert fingerprint(sent.figures) == seal
    again = change_draft(revision=open_draft, change=lambda inputs: inputs, user=books)
    assert "Odile Farrant" not in json.dumps(again.figures)


def test_health_answers_stand_in_no_snapshot(draft: QuoteRevision):
    keep_health(client=draft.quote.client, answers=SECRET)
    assert SECRET not in json.dumps(draft.figures) + json.dumps(draft.inputs)
