"""Crumbs of the shelf: never free, listed with their worth, swept out once; figures by hand, the rule is the product's own."""

from datetime import date, timedelta

import pytest
from django.test import Client as Browser
from django.urls import reverse
from support_forms import PageForms
from support_shelf import act, item, stocked

from inventory.ground.findings import Refused
from inventory.models import Posting, StockItem
from inventory.reserving.availability import availability, lacks
from inventory.reserving.lying import crumb_lots
from inventory.reserving.reservations import Wish, keep_from_lot, release, reserve
from inventory.stock.audit import audit
from inventory.stock.crumbs import sweep

pytestmark = pytest.mark.django_db

TODAY = date(2027, 1, 4)
LATER = TODAY + timedelta(days=20)


def needed(of: StockItem, quantity: int, reference: str = "Q1", *, one_lot: bool = True) -> Wish:
    """What work asks for, and keeps."""
    wish = Wish(item=of, quantity=quantity, operation="cutting", needs_one_lot=one_lot)
    reserve(reference=reference, title="Stage", link="", wishes=[wish], needed_by=LATER, expires_on=None)
    return wish


def test_crumbs_are_not_free_and_the_largest_piece_is_said():
    satin = item("cloth")
    needed(satin, 900)
    for length in (2_000, 899, 900, 120):
        stocked(satin, length, length)
    standing = availability([satin.pk], on=TODAY)[satin.pk]
    # 2000 + 899 + 900 + 120 = 3919 on hand, 899 + 120 = 1019 crumbs, 900 kept.
    assert (standing.on_hand, standing.crumbs, standing.largest) == (3_919, 1_019, 2_000)
    assert standing.free == 2_000
    release("Q1", why="")
    wish = Wish(item=satin, quantity=3_000, operation="cutting")
    assert [lack.quantity for lack in lacks([wish], start=LATER, on=TODAY)] == [100]  # 2900 can be used


def test_raw_cloth_is_judged_by_what_is_left_after_the_wash():
    coutil = item("cloth", material__shrinkage_permille=100)
    needed(coutil, 900)
    stocked(coutil, 1_000, 100, state="raw")  # leaves 900
    stocked(coutil, 999, 100, state="raw")  # leaves 899
    standing = availability([coutil.pk], on=TODAY)[coutil.pk]
    assert (standing.crumbs, standing.washes_off, standing.usable, standing.largest) == (999, 100, 900, 900)


def test_a_lot_that_work_is_kept_from_is_no_crumb():
    satin = item("cloth")
    lot = stocked(satin, 200, 100)
    assert crumb_lots() == [lot]
    wish = Wish(item=satin, quantity=150, operation="cutting", needs_one_lot=True)
    line = reserve(reference="Q1", title="Stage", link="", wishes=[wish], needed_by=LATER, expires_on=None).lines.get()
    keep_from_lot(line, lot)
    assert crumb_lots() == []


def test_what_is_asked_for_now_may_take_a_small_rest():
    fusible = item("fusible")
    stocked(fusible, 100, 10)
    wish = Wish(item=fusible, quantity=100, operation="fusing")
    assert lacks([wish], start=LATER, on=TODAY) == []


def test_crumbs_are_swept_out_in_one_posting_with_their_cause():
    spiral, cord, thread = item("spiral"), item("cord"), item("thread")
    coil, short = stocked(spiral, 99, 100), stocked(cord, 120, 30)
    stocked(spiral, 4_000, 4_000)
    stocked(thread, 10, 1)
    posting = sweep(act(), {coil.pk: 99, short.pk: 120})
    assert (posting.kind, posting.cause, posting.movements.count()) == ("scrap", "crumb", 2)
    # At the moving average: 99 of 4099 mm that are worth 41.00.
    assert sorted(posting.movements.values_list("quantity", "value_minor")) == [(-120, -30), (-99, -99)]
    assert crumb_lots() == []
    assert audit().differences == ()


def test_what_moved_or_serves_again_is_not_swept():
    cord = item()
    short = stocked(cord, 120, 30)
    with pytest.raises(Refused, match="has changed since the list was opened"):
        sweep(act(), {short.pk: 130})
    needed(cord, 100, one_lot=False)
    with pytest.raises(Refused, match="has changed since the list was opened"):
        sweep(act(), {short.pk: 120})
    assert not Posting.objects.filter(kind="scrap").exists()


def test_the_page_sweeps_what_is_ticked_and_once(browser: Browser):
    cord, tape = item(), item("casing")
    short, stays = stocked(cord, 120, 30), stocked(tape, 50, 20)
    stocked(cord, 9_000, 900)
    page = reverse("inventory:crumbs")
    opened = browser.get(page)
    said = opened.content.decode()
    assert str(short) in said
    assert "€0.32" in said  # 120 of 9120 mm that are worth 9.30 are 0.12, and 0.20
    form = PageForms(said, page).that_has("rests")
    values = form.with_values({"rests": [f"{short.pk}:120"]})
    for _ in range(2):
        assert browser.post(page, values).headers["Location"] == page
    assert Posting.objects.filter(kind="scrap", cause="crumb").count() == 1
    assert crumb_lots() == [stays]
    nothing = PageForms(browser.get(page).content.decode(), page).that_has("rests").with_values({"rests": []})
    answer = browser.post(page, nothing)
    assert answer.status_code == 422
    assert "Nothing is ticked." in answer.content.decode()
    assert "largest piece 9 m" not in browser.get(reverse("inventory:stock")).content.decode()


def test_the_list_and_the_item_say_the_largest_piece(browser: Browser):
    cord = item()
    stocked(cord, 3_000, 300)
    stocked(cord, 2_500, 250)
    assert "largest piece 3 m" in browser.get(reverse("inventory:stock")).content.decode()
    page = browser.get(reverse("inventory:item", args=[cord.code])).content.decode()
    assert "5.5 m, largest piece 3 m" in page
