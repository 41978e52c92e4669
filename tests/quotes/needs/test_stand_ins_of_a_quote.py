"""What would do in place of what a quote lacks, on its page.

Source of the rules: the trade's notes of this house, reordering, “substitutions (rank, ask, record)”: busk one step
shorter if the centre-front edge is still held, the client told if its colour differs; spiral for flat not at centre back
nor beside the busk. In the worked example flats of 9½ in (241.3 mm) go to the centre back, of 10 in beside the busk.
"""

from dataclasses import replace

from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_shelf import stocked

from inventory.ground.bone_forms import BoneForm
from inventory.models import StockItem, StockMaterial
from inventory.stock.price_list import item_of
from quotes.desk.figures import commission_of
from quotes.documents.material_needs import bone_places
from quotes.models import QuoteRevision
from quotes.needs.on_the_shelf import option_shelves


def lies(material: str, tenths: int, count: int) -> StockItem:
    made = item_of(StockMaterial.objects.get(code=material), tenths)
    stocked(made, count, 100 * count)
    return made


def found(draft: QuoteRevision) -> dict[tuple[str, int], list[str]]:
    """Codes of stand-ins by material and length, of what is short and of what was never on the shelf."""
    today = timezone.localdate()
    (shelf,) = option_shelves(draft, commission_of(draft.inputs, draft.pattern), start=today, on=today)
    short = [(lack.wish.item.material.code, lack.wish.item.size_tenths_mm) for lack in shelf.lacks]
    never = [(need.material, need.size_tenths_mm) for need in shelf.never_kept]
    rows = [[offer.item.code for offer in offers] for offers in shelf.stand_ins]
    return dict(zip([*short, *never], rows, strict=True))


def test_bones_know_where_they_go(draft: QuoteRevision):
    places = bone_places(draft.snapshot.quotation.options[0])
    assert places["flat-7-dipped", BoneForm.TIPPED, 2413] == {"centre-back"}
    assert places["flat-7-dipped", BoneForm.TIPPED, 2540] == {"beside-front"}


def test_bones_that_were_sealed_without_their_material_are_of_the_line_of_their_length(draft: QuoteRevision):
    option = draft.snapshot.quotation.options[0]
    nameless = tuple(replace(run, material="", form="") for run in option.takeoff.bones)
    earlier = replace(option, takeoff=replace(option.takeoff, bones=nameless))
    assert bone_places(earlier) == bone_places(option)


def test_what_was_never_on_the_shelf_has_stand_ins_too(draft: QuoteRevision, browser: Browser):
    shorter = lies("busk-black", 2286, 1)
    flat = lies("flat-7-dipped", 2380, 10)
    rows = found(draft)
    assert rows["busk-standard", 2540] == [shorter.code]
    assert rows["flat-7-dipped", 2413] == [flat.code]
    assert rows["flat-7-dipped", 2540] == []  # 16 mm shorter does not do
    page = browser.get(reverse("quotes:shelf", args=[draft.quote_id, draft.number])).content.decode()
    assert "Is the centre-front edge still held by a hook or a bone?" in page
    assert "It is of another colour." in page
    assert "€3.50 more" in page  # 14.90 in place of 11.40


def test_spiral_is_not_offered_at_the_back_nor_beside_the_busk(draft: QuoteRevision):
    lies("spiral-7-coil", 0, 20_000)
    stocked(StockItem.objects.get(code="tip-7"), 100, 1100)
    rows = found(draft)
    assert rows["flat-7-dipped", 2413] == rows["flat-7-dipped", 2540] == []


def test_a_quote_that_lacks_nothing_that_lies_there_otherwise_has_no_stand_ins(draft: QuoteRevision):
    assert set(map(tuple, found(draft).values())) == {()}
