"""What the shelf keeps for a quote through its life, what it lacks before work starts, and prices that move meanwhile.

Trade rules (a quote that is out keeps softly, an accepted one firmly, what shows is of one lot): common practice, no
source. Quantities are those of the takeoff's worked example.
"""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from support_shelf import act, stocked

from inventory.ground.materials import MaterialKind
from inventory.models import Reservation, StockItem, StockMaterial
from inventory.stock.ledger import Remnant, split_off
from quotes.desk.figures import commission_of
from quotes.desk.moved_prices import moved_quotes
from quotes.desk.quoting import accept, change_draft, decline, offer_of_today, send
from quotes.documents.material_needs import material_needs
from quotes.models import QuoteRevision
from quotes.needs.on_the_shelf import option_shelves
from quotes.needs.reserving import needed_by
from quotes.seal.snapshot import offer_fingerprint
from quotes.workroom.settings import workroom


def kept(reference: str = "Q1") -> Reservation:
    return Reservation.objects.get(reference=reference)


def test_a_sent_quote_keeps_softly_until_it_expires(sent: QuoteRevision):
    row = kept()
    assert (row.is_firm, row.expires_on, row.title) == (False, sent.valid_until, "Underbust")
    lines = {line.item.code: (line.quantity, line.needs_one_lot) for line in row.lines.select_related("item")}
    assert lines["grommet-00-nickel-free"] == (28, True)
    assert lines["flat-7-dipped-241-3"] == (4, False)
    assert lines["flat-7-dipped-254"] == (2, False)
    assert lines["busk-standard-254"] == (1, False)
    assert lines["coutil-satin-bottle"][1]
    assert not lines["coutil-white"][1]
    assert lines["tip-7"] == (22, False)


def test_an_accepted_one_keeps_firmly_and_a_declined_one_nothing(sent: QuoteRevision, books: User):
    accept(revision=sent, option="Two layers", user=books)
    assert (kept().is_firm, kept().expires_on, kept().state) == (True, None, "open")


def test_a_declined_one_keeps_nothing(sent: QuoteRevision, books: User):
    decline(revision=sent, user=books)
    assert (kept().state, kept().why) == ("released", "The quote was declined.")


def test_of_several_options_the_most_that_any_asks_is_kept(draft: QuoteRevision, books: User, two_layers: dict):
    flossed = {**two_layers, "name": "Flossed", "choices": {"flossing": True}}
    both = change_draft(revision=draft, change=lambda inputs: {**inputs, "options": [two_layers, flossed]}, user=books)
    seen = offer_fingerprint(offer_of_today(both))
    send(revision=both, valid_until=timezone.localdate() + timedelta(days=9), seen=seen, user=books)
    lines = {line.item.code: line.quantity for line in kept().lines.select_related("item")}
    assert lines["perle-silk"] == 16_000
    assert lines["grommet-00-nickel-free"] == 28


def test_materials_are_there_before_the_piece_is_due(draft: QuoteRevision):
    on, room = date(2027, 1, 4), workroom()
    assert needed_by(draft.quote, room, on=on) == date(2027, 2, 1)  # eight weeks, less four
    draft.quote.due = date(2027, 1, 20)
    assert needed_by(draft.quote, room, on=on) == on


def test_every_kind_of_line_has_an_operation(draft: QuoteRevision):
    option = draft.snapshot.quotation.options[0]
    needs = material_needs(option)
    assert {need.operation for need in needs} >= {"Cut and tip bones", "Waist tape", "First pass"}
    assert all(need.quantity > 0 for need in needs)
    by_unit = {line.material for line in option.takeoff.lines if line.quantity}
    assert {need.material for need in needs} == by_unit


def test_a_draft_is_held_against_the_shelf_without_keeping_anything(draft: QuoteRevision):
    today = timezone.localdate()
    busk = StockItem.objects.filter(code="busk-standard-254")
    (shelf,) = option_shelves(draft, commission_of(draft.inputs, draft.pattern), start=today, on=today)
    assert not busk.exists()
    assert {need.material for need in shelf.never_kept} == {"busk-standard", "flat-7-dipped"}
    missing = {lack.wish.item.code: lack.quantity for lack in shelf.lacks}
    assert missing["tip-7"] == 22
    tips = StockItem.objects.get(code="tip-7")
    stocked(tips, 30, 330)
    (shelf,) = option_shelves(draft, commission_of(draft.inputs, draft.pattern), start=today, on=today)
    assert "tip-7" not in {lack.wish.item.code for lack in shelf.lacks}
    assert not Reservation.objects.exists()


@pytest.mark.parametrize(("length", "holds"), [(900, True), (400, False)])
def test_a_remnant_that_holds_all_pieces_of_a_cloth_is_named(draft: QuoteRevision, length: int, holds: bool):
    coutil = StockItem.objects.get(code="coutil-white")
    lot = stocked(coutil, 3000, 71_40)
    split_off(act(), lot=lot, remnant=Remnant(width_mm=1100, length_mm=length))
    today = timezone.localdate()
    (shelf,) = option_shelves(draft, commission_of(draft.inputs, draft.pattern), start=today, on=today)
    assert [fit.lot.remnant_length_mm for fit in shelf.remnants] == ([length] if holds else [])
    assert all(fit.length_mm <= length for fit in shelf.remnants)


def test_quotes_whose_prices_moved_are_named_and_keep_their_price(sent: QuoteRevision):
    today = timezone.localdate()
    assert moved_quotes(on=today) == []
    before = sent.figures["quotation"]["options"][0]["gross"]
    tips = StockMaterial.objects.get(kind=MaterialKind.TIP)
    tips.unit_cost_millionths += 100_000
    tips.save()
    (quote,) = moved_quotes(on=today)
    assert [(option.name, option.difference) for option in quote.options] == [
        ("Two layers", Decimal("2.20"))  # 22 tips, ten cents more each
    ]
    assert quote.causes == [tips.name]
    sent.refresh_from_db()
    assert sent.figures["quotation"]["options"][0]["gross"] == before
    assert moved_quotes(on=today + timedelta(days=99)) == []
