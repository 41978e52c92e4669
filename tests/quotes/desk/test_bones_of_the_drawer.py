"""A quote from a drawer of ready bones: planned, shown with its reasons, chosen otherwise, reserved, repriced."""

from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_forms import PageForms
from support_shelf import stocked

from inventory.ground.bone_forms import BoneForm
from inventory.models import ReservationLine, StockItem, StockMaterial
from inventory.stock.audit import audit
from inventory.stock.price_list import item_of, price_list
from quotes.desk.moved_prices import moved_quotes
from quotes.desk.quoting import change_draft, offer_fingerprint, offer_of_today, send
from quotes.models import QuoteRevision
from quotes.seal.sealed import SealedTakeoff

pytestmark = pytest.mark.django_db

SPIRAL = "spiral-7-coil"
READY_TENTHS = (1900, 2000, 2050, 2150, 2180, 2300, 2350)


@pytest.fixture
def drawer(books: User) -> StockMaterial:
    """Spirals of seven lengths, cut and tipped, at a price that spares the cutting."""
    material = StockMaterial.objects.get(code=SPIRAL)
    for tenths in READY_TENTHS:
        ready = item_of(material, tenths, BoneForm.TIPPED)
        StockItem.objects.filter(pk=ready.pk).update(own_cost_millionths=900_000)
    return material


def redone(draft: QuoteRevision, user: User, **choices: object) -> SealedTakeoff:
    """The takeoff of a draft's first option, worked out anew with these choices."""

    def change(inputs: dict) -> dict:
        first, *others = inputs["options"]
        return {**inputs, "options": [{**first, "choices": {**first["choices"], **choices}}, *others]}

    return change_draft(revision=draft, change=change, user=user).snapshot.quotation.options[0].takeoff


def spirals(takeoff: SealedTakeoff) -> set[str]:
    return {line.code for line in takeoff.lines if line.material == SPIRAL}


def test_ready_bones_are_taken_where_they_fit_and_cost_less(drawer: StockMaterial, draft: QuoteRevision, books: User):
    takeoff = redone(draft, books)
    assert "spiral" not in spirals(takeoff) or any(run.form == "coil" for run in takeoff.bones)
    ready = [run for run in takeoff.bones if run.form == "tipped" and run.kind == "spiral"]
    assert ready
    for run in ready:
        assert 0 <= run.ideal_mm - run.length_mm <= 12
        assert "cut from the coil to" in run.why
    counted = sum(line.quantity for line in takeoff.lines if line.code.startswith("spiral.tipped."))
    assert counted == sum(run.count for run in ready)


def test_the_form_is_chosen_on_the_option_and_kept(drawer: StockMaterial, draft: QuoteRevision, browser: Browser):
    address = reverse("quotes:option", args=[draft.quote_id, draft.number, 0])
    form = PageForms(browser.get(address).content.decode(), address).that_has("bones_seam")
    assert browser.post(address, form.with_values({"bones_seam": "spiral/coil"})).status_code == 302
    draft.refresh_from_db()
    assert spirals(draft.snapshot.quotation.options[0].takeoff) == {"spiral"}
    assert 'value="spiral/coil" selected' in browser.get(address).content.decode()
    sheet = browser.get(reverse("quotes:sheet", args=[draft.quote_id, draft.number, 0])).content.decode()
    assert "cut from the coil" in sheet


def test_what_is_sent_is_kept_in_its_form_and_length(drawer: StockMaterial, draft: QuoteRevision, books: User):
    takeoff = redone(draft, books)
    draft.refresh_from_db()
    send(
        revision=draft,
        valid_until=timezone.localdate() + timezone.timedelta(days=14),
        seen=offer_fingerprint(offer_of_today(draft)),
        user=books,
    )
    kept = {
        (line.item.form, line.item.size_tenths_mm): line.quantity
        for line in ReservationLine.objects.filter(item__material=drawer, item__form="tipped").select_related("item")
    }
    assert kept == {
        ("tipped", round(line.size_mm * 10)): int(line.quantity)
        for line in takeoff.lines
        if line.code.startswith("spiral.tipped.")
    }


def test_an_offcut_without_a_price_is_taken_as_often_as_it_lies_there(
    drawer: StockMaterial, draft: QuoteRevision, books: User
):
    StockItem.objects.filter(material=drawer, form="tipped").update(own_cost_millionths=None)
    offcut = item_of(drawer, 2150, BoneForm.CUT)
    stocked(offcut, 1, 10)
    (form,) = [form for row in price_list() if row.code == SPIRAL for form in row.forms if form.form == "cut"]
    assert (form.length_mm, form.unit_cost, form.free) == (215.0, Decimal("0.10"), 1)
    cut = [line for line in redone(draft, books).lines if line.code == "spiral.cut.215"]
    assert [line.quantity for line in cut] == [1]
    assert audit().differences == ()


def test_a_price_that_moved_is_told_of_the_form_that_was_quoted(
    drawer: StockMaterial, draft: QuoteRevision, books: User
):
    redone(draft, books)
    assert moved_quotes(on=timezone.localdate()) == []
    StockItem.objects.filter(material=drawer, form="tipped").update(own_cost_millionths=1_000_000)
    (moved,) = moved_quotes(on=timezone.localdate())
    draft.refresh_from_db()
    lines = draft.snapshot.quotation.options[0].takeoff.lines
    bones = sum(line.quantity for line in lines if line.code.startswith("spiral.tipped."))
    assert moved.options[0].difference == bones * Decimal("0.10")


def test_a_rest_in_a_length_that_nobody_sells_is_offered_as_often_as_it_lies_there(books: User):
    """Common practice, no source: what was left of a bone cannot be bought again, whatever its form."""
    cut = StockMaterial.objects.create(
        code="bones-cut", name="Bones", kind="spiral", form="cut", unit_cost_millionths=1_500_000
    )
    cut.lengths_tenths_mm = [2000, 2500]
    cut.save()
    for tenths in cut.lengths_tenths_mm:
        item_of(cut, tenths)
    rest = item_of(cut, 1870)
    assert rest.form == ""
    stocked(rest, 2, 80)
    forms = next(row.forms for row in price_list() if row.code == "bones-cut")
    assert {(form.length_mm, form.unit_cost, form.free) for form in forms} == {
        (200.0, Decimal("1.5"), None),
        (250.0, Decimal("1.5"), None),
        (187.0, Decimal("0.4"), 2),
    }


def test_a_price_that_moved_is_told_of_a_length_that_was_never_kept(
    drawer: StockMaterial, draft: QuoteRevision, books: User
):
    flat = StockMaterial.objects.filter(kind="flat").order_by("sort_order", "code")[0]
    StockItem.objects.filter(pk=item_of(flat, 3333, BoneForm.CUT).pk).update(own_cost_millionths=99_000_000)
    taken = [line for line in redone(draft, books).lines if line.material == flat.code]
    assert taken
    assert {line.form for line in taken} == {"tipped"}
    StockItem.objects.filter(material=flat, form="", size_tenths_mm__gt=0).delete()
    flat.unit_cost_millionths += 1_000_000
    flat.save()
    (moved,) = moved_quotes(on=timezone.localdate())
    assert moved.options[0].difference == sum(line.quantity for line in taken)
