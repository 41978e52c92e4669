"""A quote's way from draft to sent and decided; what was sent never changes. The rules are the product's own."""

from copy import deepcopy
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.utils import timezone
from openpyxl import load_workbook
from support_patterns import block_b

from inventory.ground.findings import Refused
from inventory.models import StockMaterial
from inventory.shelf.settings import name_workroom
from quotes.desk.client_offer import client_offer_pdf
from quotes.desk.quoting import (
    accept,
    change_draft,
    decline,
    newer_pattern,
    offer_of_today,
    revise,
    send,
    start_quote,
    take_newer_pattern,
)
from quotes.documents.internal_sheet import internal_workbook
from quotes.models import Client, KeptConstruction, PatternRevision, Quote, QuoteRevision
from quotes.patterns.kept_patterns import keep_block
from quotes.seal.snapshot import fingerprint, offer_fingerprint
from quotes.workroom.settings import save_rates, save_times, workroom

State = QuoteRevision.State


def flossed(inputs: dict[str, Any]) -> dict[str, Any]:
    first, *others = inputs["options"]
    return {**inputs, "options": [{**first, "choices": {"flossing": True}}, *others]}


def gross(revision: QuoteRevision) -> str:
    return revision.figures["quotation"]["options"][0]["gross"]


def codes(caught: pytest.ExceptionInfo[Refused]) -> list[str]:
    return [found.code for found in caught.value.findings]


def test_a_quote_starts_as_a_draft_with_its_figures(draft: QuoteRevision):
    assert (draft.quote.number, draft.number, draft.state) == (1, 1, State.DRAFT)
    assert draft.quote.client.name == "Odile Farrant"
    assert float(gross(draft)) > 0


def test_a_start_that_is_refused_saves_nothing(books: User, pattern: PatternRevision, two_layers: dict[str, Any]):
    two_layers["cloths"]["outer"] = "velvet"
    with pytest.raises(Refused):
        start_quote(
            client=Client(name="Nobody"), title="x", due=None, pattern=pattern, options=[two_layers], user=books
        )
    assert not Quote.objects.exists()
    assert not Client.objects.filter(name="Nobody").exists()


def test_a_change_brings_new_figures(draft: QuoteRevision, books: User):
    before = gross(draft)
    change_draft(revision=draft, change=flossed, user=books)
    assert float(gross(draft)) > float(before)
    assert draft.version == 2


def test_a_change_that_is_refused_leaves_the_draft_as_it_was(draft: QuoteRevision, books: User):
    before = deepcopy(draft.figures)
    with pytest.raises(Refused):
        change_draft(revision=draft, change=lambda inputs: {**inputs, "options": []}, user=books)
    draft.refresh_from_db()
    assert (draft.figures, draft.version) == (before, 1)


def test_a_change_from_a_window_opened_before_another_is_refused(draft: QuoteRevision, books: User):
    stale = QuoteRevision.objects.select_related("quote").get(pk=draft.pk)
    change_draft(revision=draft, change=flossed, user=books)
    with pytest.raises(Refused) as caught:
        change_draft(revision=stale, change=lambda inputs: inputs, user=books)
    assert codes(caught) == ["quote.changed-meanwhile"]


def test_an_overruled_line_keeps_the_computed_figure(draft: QuoteRevision, books: User):
    own = [{"line": "grommet", "quantity": "40", "reason": "double row"}]
    change_draft(
        revision=draft,
        change=lambda inputs: {**inputs, "options": [{**inputs["options"][0], "overrules": own}]},
        user=books,
    )
    lines = draft.figures["quotation"]["options"][0]["takeoff"]["lines"]
    line = next(row for row in lines if row["code"] == "grommet")
    assert (line["quantity"], line["overruled"], line["overrule_reason"]) == ("40", "28", "double row")


def test_sending_seals_with_a_fingerprint(sent: QuoteRevision):
    assert sent.state == State.SENT
    assert sent.fingerprint == fingerprint(sent.figures)
    assert (sent.snapshot.letterhead.number, sent.snapshot.letterhead.revision) == (1, 1)
    assert sent.sent_at is not None


def test_only_what_was_seen_is_sent(draft: QuoteRevision, books: User):
    seen = offer_fingerprint(offer_of_today(draft))
    StockMaterial.objects.filter(code="coutil-white").update(unit_cost_millionths=90_000_000)
    with pytest.raises(Refused) as caught:
        send(revision=draft, valid_until=timezone.localdate(), seen=seen, user=books)
    assert codes(caught) == ["quote.figures-moved"]
    draft.refresh_from_db()
    assert draft.state == State.DRAFT


def test_a_validity_in_the_past_is_refused(draft: QuoteRevision, books: User):
    with pytest.raises(Refused) as caught:
        send(revision=draft, valid_until=timezone.localdate() - timedelta(days=1), seen="", user=books)
    assert codes(caught) == ["quote.validity-past"]


def cells_of(workbook: bytes) -> list[list[object]]:
    """What a workbook says: its file holds when it was written besides."""
    return [list(row) for sheet in load_workbook(BytesIO(workbook)) for row in sheet.iter_rows(values_only=True)]


def test_nothing_later_changes_what_was_sent(sent: QuoteRevision, books: User):
    before = (
        deepcopy(sent.figures),
        sent.fingerprint,
        client_offer_pdf(sent.snapshot, is_draft=False),
        cells_of(internal_workbook(sent.snapshot)),
    )
    StockMaterial.objects.update(unit_cost_millionths=1_000_000, name="other")
    room = workroom()
    save_rates(room, {**room.rates, "labour_per_hour": "99.00"})
    times = deepcopy(room.times)
    times["operations"][0]["setup_min"] = 999
    save_times(room, times)
    room.length_unit = "in"
    name_workroom("Another name", "")
    room.save()
    KeptConstruction.objects.filter(code="two-layer").delete()
    PatternRevision.objects.create(
        pattern=sent.pattern.pattern,
        number=2,
        document=keep_block(block=replace(block_b(), name="Overbust"), user=books).document,
    )
    sent.refresh_from_db()
    after = (
        sent.figures,
        sent.fingerprint,
        client_offer_pdf(sent.snapshot, is_draft=False),
        cells_of(internal_workbook(sent.snapshot)),
    )
    assert after == before


@pytest.mark.parametrize(
    "change",
    [
        {"figures": {}},
        {"inputs": {}},
        {"fingerprint": "x"},
        {"number": 9},
        {"state": "draft", "fingerprint": "", "sent_at": None},
    ],
    ids=lambda change: next(iter(change)),
)
def test_the_database_itself_refuses_to_change_what_was_sent(sent: QuoteRevision, change: dict[str, Any]):
    with pytest.raises(IntegrityError), transaction.atomic():
        QuoteRevision.objects.filter(pk=sent.pk).update(**change)


def test_the_database_keeps_sent_revisions_and_patterns(sent: QuoteRevision):
    with pytest.raises(IntegrityError), transaction.atomic():
        QuoteRevision.objects.filter(pk=sent.pk).delete()
    with pytest.raises(IntegrityError), transaction.atomic():
        PatternRevision.objects.filter(pk=sent.pattern_id).update(document={})


def test_a_sent_quote_is_accepted_with_one_option(sent: QuoteRevision, books: User):
    accept(revision=sent, option="Two layers", user=books)
    assert (sent.state, sent.accepted_option) == (State.ACCEPTED, "Two layers")
    with pytest.raises(Refused):
        decline(revision=sent, user=books)
    with pytest.raises(Refused) as caught:
        revise(revision=sent, user=books)
    assert codes(caught) == ["quote.is-accepted"]


def test_an_option_that_was_not_offered_is_refused(sent: QuoteRevision, books: User):
    with pytest.raises(Refused) as caught:
        accept(revision=sent, option="Three layers", user=books)
    assert codes(caught) == ["quote.no-such-option"]


def test_a_draft_is_neither_accepted_nor_declined(draft: QuoteRevision, books: User):
    for decide in (
        lambda: accept(revision=draft, option="Two layers", user=books),
        lambda: decline(revision=draft, user=books),
    ):
        with pytest.raises(Refused) as caught:
            decide()
        assert codes(caught) == ["quote.wrong-state"]


def test_a_quote_past_its_validity_has_expired(sent: QuoteRevision):
    day_after = sent.valid_until + timedelta(days=1)
    assert sent.standing(on=sent.valid_until) == State.SENT
    assert sent.standing(on=day_after) == State.EXPIRED
    assert list(QuoteRevision.objects.standing(State.EXPIRED, on=day_after)) == [sent]
    assert not QuoteRevision.objects.standing(State.SENT, on=day_after)


def test_a_revision_starts_from_the_last_and_replaces_it_when_sent(sent: QuoteRevision, books: User):
    draft = revise(revision=sent, user=books)
    assert (draft.number, draft.state, draft.inputs) == (2, State.DRAFT, sent.inputs)
    with pytest.raises(Refused) as caught:
        revise(revision=sent, user=books)
    assert codes(caught) == ["quote.has-draft"]
    seen = offer_fingerprint(offer_of_today(draft))
    send(revision=draft, valid_until=timezone.localdate(), seen=seen, user=books)
    sent.refresh_from_db()
    assert sent.state == State.REPLACED
    with pytest.raises(Refused):
        accept(revision=sent, option="Two layers", user=books)


def test_a_draft_takes_the_newest_revision_of_its_pattern_when_asked(draft: QuoteRevision, books: User):
    before = draft.snapshot
    longer = {**deepcopy(draft.pattern.document), "name": "Block A, longer"}
    for panel in longer["panels"]:
        for edge in ("front", "back", "top", "bottom"):
            panel[edge] = [[x, 1.1 * y] for x, y in panel[edge]]
    newest = draft.pattern.pattern.revisions.create(number=2, document=longer)
    assert newer_pattern(draft) == newest
    again = change_draft(revision=draft, user=books)
    assert again.snapshot.quotation == before.quotation  # not before it is asked for
    taken = take_newer_pattern(again, user=books)
    assert (taken.pattern, newer_pattern(taken)) == (newest, None)
    seams = (before.quotation.options[0].takeoff.work.seam_mm, taken.snapshot.quotation.options[0].takeoff.work.seam_mm)
    assert seams[1] > seams[0]
    version = taken.version
    assert take_newer_pattern(taken, user=books).version == version


def test_a_sent_quote_stays_with_the_pattern_that_it_was_made_from(sent: QuoteRevision):
    sent.pattern.pattern.revisions.create(number=2, document=sent.pattern.document)
    assert newer_pattern(sent) is None


def test_the_page_says_that_a_newer_pattern_is_there_and_takes_it(draft: QuoteRevision, browser: Browser):
    page = f"/quotes/{draft.quote_id}/1/"
    assert "Take revision" not in browser.get(page).content.decode()
    draft.pattern.pattern.revisions.create(number=2, document=draft.pattern.document)
    assert "Take revision 2" in browser.get(page).content.decode()
    done = browser.post(f"{page}pattern/", {"version": draft.version}, follow=True).content.decode()
    assert "Worked out anew" in done
    assert "Take revision" not in done
