"""Bones cut to length and rests put back: hand-worked cases by each method of valuation.

Sources: IAS 2 Inventories, paragraphs 16 and 23 to 27; that any sequence of acts agrees with a plain model is in
test_cutting_stateful.
"""

from uuid import uuid4

import pytest
from django.test import Client as Browser
from django.urls import reverse
from support_shelf import act, item, stocked

from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import Refused
from inventory.models import Lot, Posting, StockItem
from inventory.reckoning.valuation import Method
from inventory.shelf.settings import set_method
from inventory.stock.audit import audit
from inventory.stock.correcting import CorrectedCost, correct_costs
from inventory.stock.cutting import cut_to_length, put_back_offcuts
from inventory.stock.ledger import issue
from inventory.stock.price_list import item_of

pytestmark = pytest.mark.django_db


def stands(of: StockItem) -> tuple[int, int]:
    return StockItem.objects.values_list("on_hand", "value_minor").get(pk=of.pk)


def refusal(refused: pytest.ExceptionInfo[Refused]) -> tuple[str, str]:
    (found,) = refused.value.findings
    return found.code, f"{found.message} {found.hint}".strip()


@pytest.mark.parametrize("method", list(Method))
def test_a_rest_of_a_coil_lies_in_the_drawer_as_a_bone_with_its_share_of_the_value(method: Method):
    """10 m at 1.00 a metre: 312 mm of it are 0.31, and 9.688 m at 9.69 stay on the coil."""
    set_method(method)
    coil = item("spiral", place="Drawer 4")
    lot = stocked(coil, 10_000, 1000, dye_lot="white")
    put_back_offcuts(act(), lot=lot, lengths=[3120])
    rest = StockItem.objects.get(material=coil.material, form="cut", size_tenths_mm=3120)
    assert (stands(coil), stands(rest)) == ((9_688, 969), (1, 31))
    made = rest.lots.get()
    assert (made.from_lot, made.received_on, made.dye_lot, made.place) == (lot, lot.received_on, "white", "Drawer 4")
    assert audit().differences == ()


def test_bones_of_several_lengths_share_what_they_are_cut_from_by_their_length():
    """Two each of 200 and 300 mm: 1 m of 10 m at 10.00; of 1.00 the 200 mm bear 0.40 and the 300 mm 0.60."""
    coil = item("spiral")
    lot = stocked(coil, 10_000, 1000)
    cut_to_length(act(), lot=lot, lengths=[2000, 3000], form=BoneForm.TIPPED, count=2)
    made = [stands(item_of(coil.material, length, BoneForm.TIPPED)) for length in (2000, 3000)]
    assert (stands(coil), made) == ((9_000, 900), [(2, 40), (2, 60)])
    assert audit().differences == ()


def test_a_bone_that_is_cut_gives_all_its_value_to_what_is_made_of_it():
    """A flat of 400 mm at 1.00 becomes 220 and 170 mm, 10 mm are waste: 0.56 and 0.44, as 220 to 170."""
    flat = item("flat", size_tenths_mm=4000)
    lot = stocked(flat, 3, 300)
    cut_to_length(act(), lot=lot, lengths=[2200, 1700], form=BoneForm.CUT)
    made = [stands(item_of(flat.material, length, BoneForm.CUT)) for length in (2200, 1700)]
    assert (stands(flat), made) == ((2, 200), [(1, 56), (1, 44)])
    assert audit().differences == ()


def test_inches_are_taken_off_the_coil_up_to_the_next_millimetre():
    """9 1/2 in is 241.3 mm, by definition of the inch; two of them are 482.6 mm."""
    coil = item("spiral")
    cut_to_length(act(), lot=stocked(coil, 1000, 100), lengths=[2413], form=BoneForm.CUT, count=2)
    assert stands(coil) == (517, 52)


@pytest.mark.parametrize("method", list(Method))
def test_what_was_cut_costs_more_when_its_coil_did(method: Method):
    """10 m at 1.00, 2 m cut into ten bones, one issued; the coil cost 20.00: bones 0.40 each, the job 0.40."""
    set_method(method)
    coil = item("spiral")
    lot = stocked(coil, 10_000, 1000)
    cut_to_length(act(), lot=lot, lengths=[2000], form=BoneForm.CUT, count=10)
    bones = item_of(coil.material, 2000, BoneForm.CUT)
    issued = issue(act(), lot=bones.lots.get(), quantity=1, job="Q1")
    correct_costs(act("Invoice 17"), [CorrectedCost(lot=lot, seen_minor=1000, paid_minor=2000)])
    assert (stands(coil), stands(bones)) == ((8_000, 1600), (9, 360))
    assert sum(issued.movements.values_list("value_minor", flat=True)) == -20
    later = Posting.objects.get(kind="issue", corrected_by__isnull=False)
    assert later.movements.get().value_minor == -20
    assert audit().differences == ()
    # What is cut and corrected once more, first in, first out, still goes out at what the audit reckons.
    cut_to_length(act(), lot=bones.lots.get(), lengths=[1500], form=BoneForm.CUT, count=4)
    correct_costs(act("Credit 3"), [CorrectedCost(lot=lot, seen_minor=2000, paid_minor=1501)])
    assert audit().differences == ()
    there = sum(StockItem.objects.values_list("value_minor", flat=True))
    used = -sum(Posting.objects.filter(job="Q1").values_list("movements__value_minor", flat=True))
    assert there + used == 1501


@pytest.mark.parametrize(
    ("lengths", "code", "words"),
    [
        ([1490], "cutting.too-short", "A rest of 149 mm is shorter than the 150 mm that are kept. Scrap it instead."),
        ([2200, 1900], "cutting.longer", "220 + 190 mm are more than the 400 mm of the bone."),
        ([10_010], "cutting.length", "A length of 1001 mm is outside 30 to 1000 mm."),
        ([], "cutting.nothing", "Nothing would be cut. Say how long the bones are."),
    ],
)
def test_what_cannot_be_cut_is_refused_and_leaves_nothing(lengths: list[int], code: str, words: str):
    flat = item("flat", size_tenths_mm=4000)
    lot = stocked(flat, 3, 300)
    with pytest.raises(Refused) as refused:
        put_back_offcuts(act(), lot=lot, lengths=lengths)
    assert refusal(refused) == (code, words)
    assert (StockItem.objects.count(), Lot.objects.count()) == (1, 1)


def test_more_than_the_coil_holds_or_what_is_no_bone_is_not_cut():
    cord, coil = stocked(item("cord"), 1000, 100), stocked(item("spiral"), 300, 100)
    for lot, code in ((cord, "cutting.no-bone"), (coil, "ledger.not-enough")):
        with pytest.raises(Refused) as refused:
            put_back_offcuts(act(), lot=lot, lengths=[3010])
        assert refusal(refused)[0] == code
    assert StockItem.objects.count() == 2


def test_a_coil_is_cut_on_its_page_in_inches_and_a_rest_put_back(browser: Browser):
    coil = item("spiral", material__name="Spiral steel 5 mm")
    lot = stocked(coil, 10_000, 1000)
    page = browser.get(reverse("inventory:lot", args=[lot.pk])).content.decode()
    cut, back = (reverse(f"inventory:lot-{name}", args=[lot.pk]) for name in ("cut", "put-back"))
    assert all(f'href="{address}"' in page for address in (cut, back))
    said = {"key": str(uuid4()), "lengths": "9in 9 1/2in", "count": "4", "form": "tipped"}
    assert browser.post(cut, said).status_code == 302
    made = [stands(item_of(coil.material, size, BoneForm.TIPPED))[0] for size in (2286, 2413)]
    # 4 × (9 + 9 1/2) in × 25.4 = 1879.6 mm
    assert (made, stands(coil)[0]) == ([4, 4], 8120)
    short = browser.post(back, {"key": str(uuid4()), "lengths": "312 140"})
    assert short.status_code == 422
    assert "A rest of 140 mm is shorter than the 150 mm that are kept. Scrap it instead." in short.content.decode()
    assert browser.post(back, {"key": str(uuid4()), "lengths": "312"}).status_code == 302
    assert stands(coil)[0] == 7808
    assert audit().differences == ()


def test_a_lot_of_what_is_no_bone_has_no_page_to_cut_it(browser: Browser):
    lot = stocked(item("cord"), 1000, 100)
    for name in ("lot-cut", "lot-put-back"):
        answer = browser.get(reverse(f"inventory:{name}", args=[lot.pk]))
        assert answer["Location"] == reverse("inventory:lot", args=[lot.pk])
