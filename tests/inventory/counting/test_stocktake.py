"""The stocktake from its start to its posting.

Reasons beyond 5 %, and reservations that survive a count: common practice, no source. Values are worked by hand from the
moving average (IAS 2.27).
"""

from typing import Any

import pytest
from support_shelf import act, stocked
from support_stocktake import codes, counted, line, on_hand, posted

from inventory.counting.stocktaking import (
    Counted,
    counts_fingerprint,
    differences,
    drop,
    keep_counts,
    places,
    post,
    shortfalls,
    start,
)
from inventory.ground.findings import Refused
from inventory.models import Lot, Movement, Posting, Reservation, Stocktake
from inventory.stock.audit import audit
from inventory.stock.ledger import Remnant, issue, split_off

pytestmark = pytest.mark.django_db


def test_a_lots_own_place_goes_before_its_items(cord: Lot, tips: Lot, cloth: Lot):
    Lot.objects.filter(pk=tips.pk).update(place="Chest")
    issue(act(), lot=stocked(cord.item, 10, 1), quantity=10, job="Q1")  # an empty lot is not counted
    assert places() == [("Chest", 2), ("Drawer 2", 1)]
    chest = start(place="Chest", is_blind=False, by=None)
    assert {row.lot for row in chest.lines.all()} == {tips, cloth}
    drawer = start(place="Drawer 2", is_blind=True, by=None)
    assert [row.lot for row in drawer.lines.all()] == [cord]
    assert (chest.number, drawer.number) == (1, 2)


def test_no_lot_is_in_two_open_counts(cord: Lot, cloth: Lot):
    drawer = start(place="Drawer 2", is_blind=True, by=None)
    for place in ("Drawer 2", ""):
        with pytest.raises(Refused, match="Stocktake 1 of Drawer 2 is being counted already") as refused:
            start(place=place, is_blind=True, by=None)
        assert codes(refused) == ["stocktake.open-already"]
    start(place="Chest", is_blind=True, by=None)
    Lot.objects.filter(pk=cord.pk).update(place="Hook")
    stocked(cord.item, 1_000, 1_00)
    for place in ("Hook", "Drawer 2"):
        with pytest.raises(Refused, match="Stocktake 1"):
            start(place=place, is_blind=True, by=None)
    drop(drawer)
    assert [row.lot for row in start(place="Hook", is_blind=True, by=None).lines.all()] == [cord]


def test_where_nothing_lies_nothing_is_counted():
    with pytest.raises(Refused, match="Nothing lies there"):
        start(place="Attic", is_blind=True, by=None)
    assert not Stocktake.objects.exists()


def test_the_difference_is_posted_whatever_moved_between(count: Stocktake, cord: Lot):
    counted(count, cord=9_700)
    issue(act(), lot=cord, quantity=2_000, job="Q1")
    row = line(count, cord)
    assert (row.counted, row.book_quantity, row.difference) == (9_700, 10_000, -300)
    posting = posted(count)
    assert posting is not None
    assert on_hand(cord) == 7_700
    assert list(posting.movements.values_list("quantity", "value_minor")) == [(-300, -30)]
    assert (posting.kind, posting.why) == ("count", "Stocktake 1: yearly count")
    assert audit().differences == ()


def test_a_later_count_takes_the_place_of_an_earlier_with_its_own_book(count: Stocktake, cord: Lot):
    counted(count, cord=9_000)
    issue(act(), lot=cord, quantity=1_000, job="Q1")
    counted(count, cord=9_000)
    assert line(count, cord).difference == 0


def test_only_what_differs_is_posted_and_what_is_not_counted_stays(count: Stocktake, cord: Lot, tips: Lot, cloth: Lot):
    counted(count, cord=10_000, tips=204)
    posting = posted(count)
    assert posting is not None
    assert list(posting.movements.values_list("lot", "quantity", "value_minor")) == [(tips.pk, 4, 40)]
    count.refresh_from_db()
    assert (count.state, count.why, count.posting) == ("posted", "yearly count", posting)
    assert line(count, cloth).counted is None
    assert on_hand(cloth) == 5000


def test_a_count_that_agrees_is_closed_without_a_posting(count: Stocktake):
    counted(count, cord=10_000, tips=200)
    assert posted(count, why="") is None
    count.refresh_from_db()
    assert count.state == "posted"
    assert count.posted_at is not None
    assert not Posting.objects.filter(kind="count").exists()


@pytest.mark.parametrize(
    ("quantity", "needs"), [(9_500, False), (9_499, True), (10_500, False), (10_501, True), (0, True)]
)
def test_a_difference_beyond_five_percent_needs_a_reason(count: Stocktake, cord: Lot, quantity: int, needs: bool):
    counted(count, cord=quantity)
    (found,) = differences(count)
    assert found.needs_reason is needs
    if needs:
        with pytest.raises(Refused, match="more than 5 %") as refused:
            posted(count)
        assert codes(refused) == ["stocktake.no-reason"]
        assert not Posting.objects.filter(kind="count").exists()
    posted(count, cord="moths")
    assert line(count, cord).reason == "moths"


def test_differences_are_valued_at_the_average_and_then_at_what_the_ledger_took(cord: Lot, tips: Lot):
    """16.00 for 12 m: 0.2 m are 0.2667, so 0.27; 1 tip is 0.10."""
    stocked(cord.item, 2_000, 6_00)
    count = start(place="Drawer 2", is_blind=True, by=None)
    keep_counts(count, [Counted(line=line(count, cord).pk, quantity=9_800, how="counted")])
    counted(count, tips=201)
    values = {entry.line.lot: (entry.quantity, entry.value_minor) for entry in differences(count)}
    assert values == {cord: (-200, -27), tips: (1, 10)}
    posted(count)
    stocked(cord.item, 1_000, 90_00)
    count.refresh_from_db()
    assert {entry.line.lot: entry.value_minor for entry in differences(count)} == {cord: -27, tips: 10}


def test_nothing_is_posted_without_a_count_or_a_reason_for_the_whole(count: Stocktake):
    with pytest.raises(Refused) as refused:
        posted(count)
    assert codes(refused) == ["stocktake.nothing-counted"]
    counted(count, tips=199)
    with pytest.raises(Refused) as refused:
        posted(count, why="")
    assert codes(refused) == ["ledger.no-cause"]
    count.refresh_from_db()
    assert count.state == "open"


def test_nothing_is_posted_that_the_page_did_not_show(count: Stocktake):
    counted(count, tips=199)
    shown = counts_fingerprint(count.lines.all())
    counted(count, cord=9_900)
    with pytest.raises(Refused, match="counted meanwhile"):
        post(count, act("count"), was_seen=shown, reasons={})
    assert not Posting.objects.filter(kind="count").exists()


def test_what_left_after_the_count_cannot_be_missing_twice(count: Stocktake, tips: Lot):
    counted(count, tips=195)
    issue(act(), lot=tips, quantity=198, job="Q1")
    with pytest.raises(Refused) as refused:
        posted(count)
    assert codes(refused) == ["ledger.not-enough"]
    count.refresh_from_db()
    assert (count.state, line(count, tips).reason, on_hand(tips)) == ("open", "", 2)


@pytest.mark.parametrize("end", ["post", "drop"])
def test_what_is_over_takes_no_more(count: Stocktake, end: str):
    counted(count, tips=199)
    if end == "post":
        posted(count)
    else:
        drop(count)
    before = Movement.objects.count()
    for doing in (lambda: posted(count), lambda: drop(count), lambda: counted(count, cord=1)):
        with pytest.raises(
            Refused, match=f"Stocktake 1 is {'posted' if end == 'post' else 'dropped'} already"
        ) as refused:
            doing()
        assert codes(refused) == ["stocktake.over"]
    assert Movement.objects.count() == before


def test_reservations_survive_and_those_that_are_short_are_named(count: Stocktake, cord: Lot, tips: Lot):
    def keep(reference: str, lot: Lot, quantity: int, issued: int = 0, **facts: Any) -> None:
        kept = Reservation.objects.create(reference=reference, title="Stage", needed_by="2027-01-04", **facts)
        kept.lines.create(item=lot.item, quantity=quantity, issued=issued, operation="lacing")

    keep("Q1", cord, 6_000, is_firm=True)
    keep("Q2", cord, 5_000, issued=1_100, is_firm=True)
    keep("Q3", cord, 9_000, expires_on="2027-02-01")
    keep("Q4", cord, 9_000, is_firm=True, state="released")
    keep("Q5", tips, 199, is_firm=True)
    counted(count, cord=9_899, tips=199)
    posted(count)
    (short,) = shortfalls(count)
    assert (short.item, short.item.on_hand, short.needed) == (cord.item, 9_899, 9_900)
    assert [(row.reservation.reference, row.remaining) for row in short.lines] == [("Q1", 6_000), ("Q2", 3_900)]
    assert Reservation.objects.filter(state="open").count() == 4


def test_a_remnant_is_counted_as_the_length_it_stands_for(cloth: Lot):
    """670 × 400 mm of a cloth 1340 mm wide are 200 mm of its length; 100.00 for 5 m in all make them 4.00."""
    split_off(act(), lot=cloth, remnant=Remnant(width_mm=670, length_mm=400))
    remnant = Lot.objects.get(from_lot=cloth)
    count = start(place="Chest", is_blind=True, by=None)
    keep_counts(count, [Counted(line=line(count, remnant).pk, quantity=0, how="counted")])
    (found,) = differences(count)
    assert (found.quantity, found.value_minor) == (-200, -4_00)
    post(
        count,
        act("count"),
        was_seen=counts_fingerprint(count.lines.all()),
        reasons={line(count, remnant).pk: "used up"},
    )
    cloth.item.refresh_from_db()
    assert (cloth.item.on_hand, cloth.item.in_remnants) == (4800, 0)
    assert audit().differences == ()
