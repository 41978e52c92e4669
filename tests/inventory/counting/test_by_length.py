"""Bones counted by length on one page: shares over lots worked by hand. Rules are the product's own."""

import pytest
from django.http import HttpResponse
from django.test import Client as Browser
from django.urls import reverse
from support_shelf import act, item, stocked

from inventory.counting.by_length import bone_groups, keep_by_length, seen_now, shared_over
from inventory.counting.stocktaking import counts_fingerprint, post, start
from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import Refused
from inventory.models import CountLine, Lot, StockItem, Stocktake
from inventory.stock.audit import audit
from inventory.stock.ledger import issue
from inventory.stock.moved import is_moved
from inventory.stock.price_list import item_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def coil() -> StockItem:
    """Two coils of 5 m and 3 m; 4 and 6 tipped ones of 250 mm in two lots, 9 of 300 mm."""
    made = item("spiral", material__name="Spiral 5 mm")
    for length in (5_000, 3_000):
        stocked(made, length, length // 10)
    for size, counts in ((2500, (4, 6)), (3000, (9,))):
        for count in counts:
            stocked(item_of(made.material, size, BoneForm.TIPPED), count, count * 100)
    return made


@pytest.fixture
def bones(coil: StockItem) -> Stocktake:
    return start(kind="spiral", is_blind=True, by=None)


def groups(of: Stocktake) -> dict[str, int]:
    """The keys of the groups by length, coils by their lots."""
    return {f"{g.item.size_tenths_mm}" if g.item.size_tenths_mm else f"coil {g.book}": g.key for g in bone_groups(of)}


def counted(of: Stocktake) -> list[int | None]:
    return list(of.lines.order_by("lot__item__size_tenths_mm", "lot").values_list("counted", flat=True))


def test_a_count_of_a_kind_takes_its_lots_from_wherever_they_lie(coil: StockItem):
    stocked(item("flat", size_tenths_mm=2500), 5, 500)
    stocktake = start(kind="spiral", is_blind=True, by=None)
    assert (stocktake.place, stocktake.lines.count()) == ("All spiral steel", 5)
    assert sorted(groups(stocktake)) == ["2500", "3000", "coil 3000", "coil 5000"]
    with pytest.raises(Refused):
        start(kind="spiral", is_blind=True, by=None)


@pytest.mark.parametrize(
    ("holds", "found", "shares"),
    [([4, 6], 10, [4, 6]), ([4, 6], 7, [1, 6]), ([4, 6], 5, [0, 5]), ([4, 6], 13, [4, 9]), ([4, 6], 0, [0, 0])],
)
def test_what_is_missing_is_missing_of_the_lots_that_are_taken_first(holds: list[int], found: int, shares: list[int]):
    assert shared_over(holds, found) == shares


def test_what_is_counted_of_a_length_is_posted_lot_by_lot(bones: Stocktake, coil: StockItem):
    keys = groups(bones)
    said = {keys["2500"]: 7, keys["3000"]: 9, keys["coil 5000"]: 4_600}
    assert keep_by_length(bones, said, seen=seen_now(bones)) == 3
    assert counted(bones) == [4_600, None, 1, 6, 9]
    reasons = dict.fromkeys(bones.lines.values_list("pk", flat=True), "used without a slip")
    post(bones, act("monthly"), was_seen=counts_fingerprint(bones.lines.select_related("lot")), reasons=reasons)
    tipped = item_of(coil.material, 2500, BoneForm.TIPPED)
    assert StockItem.objects.get(pk=tipped.pk).on_hand == 7
    assert list(Lot.objects.filter(item=tipped).order_by("pk").values_list("on_hand", flat=True)) == [1, 6]
    assert audit().differences == ()


def test_a_count_is_refused_where_a_lot_moved_since_the_page_was_opened(bones: Stocktake, coil: StockItem):
    keys, seen = groups(bones), seen_now(bones)
    issue(act(), lot=item_of(coil.material, 2500, BoneForm.TIPPED).lots.first(), quantity=1, purpose="sample")
    with pytest.raises(Refused) as refused:
        keep_by_length(bones, {keys["2500"]: 9, keys["3000"]: 9}, seen=seen)
    assert is_moved(refused.value)
    assert counted(bones) == [None] * 5


def on_page(browser: Browser, of: Stocktake, **said: str) -> HttpResponse:
    return browser.post(reverse("inventory:stocktake-by-length", args=[of.number]), said)


def test_the_drawer_starts_a_count_that_is_typed_on_one_page(browser: Browser, coil: StockItem):
    page = browser.get(reverse("inventory:drawer")).content.decode()
    assert 'name="place" value="of spiral"' in page
    begun = browser.post(reverse("inventory:stocktakes"), {"place": "of spiral", "is_blind": "on"})
    stocktake = Stocktake.objects.get()
    assert begun["Location"] == reverse("inventory:stocktake-by-length", args=[1])
    shown = browser.get(begun["Location"])
    text = " ".join(shown.content.decode().split())
    assert '250 mm <span class="unit below">9 7/8 in</span>' in text
    assert "Book</th>" not in text
    keys, seen = groups(stocktake), str(shown.context["form"]["seen"].value())
    said = {"seen": seen, f"counted_{keys['2500']}": "10", f"counted_{keys['coil 3000']}": "2,9"}
    assert on_page(browser, stocktake, **said)["Location"] == reverse("inventory:stocktake", args=[1])
    assert counted(stocktake) == [None, 2_900, 4, 6, None]
    # Sent once more it counts nothing anew, and the list leads back to the page.
    before = list(CountLine.objects.values_list("counted_after", flat=True))
    assert on_page(browser, stocktake, **said).status_code == 302
    assert list(CountLine.objects.values_list("counted_after", flat=True)) == before
    assert begun["Location"] in browser.get(reverse("inventory:stocktake", args=[1])).content.decode()
    rest = {f"counted_{keys['3000']}": "9", f"counted_{keys['coil 5000']}": "5"}
    assert on_page(browser, stocktake, **said, **rest)["Location"] == reverse("inventory:stocktake-review", args=[1])


def test_what_moved_is_asked_again_and_the_rest_stays_written(browser: Browser, bones: Stocktake, coil: StockItem):
    keys, seen = groups(bones), str(seen_now(bones))
    issue(act(), lot=item_of(coil.material, 2500, BoneForm.TIPPED).lots.first(), quantity=1, purpose="sample")
    answer = on_page(browser, bones, seen=seen, **{f"counted_{keys['2500']}": "10", f"counted_{keys['3000']}": "8"})
    assert answer.status_code == 422
    assert "It moved since this form was opened, so count it again: issued −1" in answer.content.decode()
    form = answer.context["form"]
    assert [form[f"counted_{keys[length]}"].value() for length in ("2500", "3000")] == [None, "8"]
    said = {f"counted_{keys['2500']}": "9", f"counted_{keys['3000']}": "8"}
    assert on_page(browser, bones, seen=str(form["seen"].value()), **said).status_code == 302
    assert counted(bones) == [None, None, 3, 6, 8]


def test_a_digit_too_many_is_asked_about(browser: Browser, bones: Stocktake):
    keys, seen = groups(bones), str(seen_now(bones))
    said = {"seen": seen, f"counted_{keys['3000']}": "99"}
    answer = on_page(browser, bones, **said)
    assert answer.status_code == 422
    assert "99 are far more than the 9 on the book. Is there a digit too many?" in answer.content.decode()
    tick = answer.context["form"].question
    assert on_page(browser, bones, **said, sure_of=tick.field.widget.attrs["value"]).status_code == 302
    assert counted(bones)[-1] == 99


def test_a_count_without_bones_has_no_page_for_them(browser: Browser):
    stocked(item("cord", place="Loft"), 1000, 100)
    start(place="Loft", is_blind=True, by=None)
    answer = browser.get(reverse("inventory:stocktake-by-length", args=[1]))
    assert answer["Location"] == reverse("inventory:stocktake", args=[1])
