"""The ledger's acts one by one: what they move, what they refuse, and that the database keeps them.

Trade rules (washing shrinks, remnants have real sizes, the last piece takes the rest): common practice, no source.
"""

from uuid import uuid4

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.utils import timezone
from support_shelf import SupplierFactory, act, item, offered, stocked

from inventory.buying.purchasing import OrderWish, draft_order
from inventory.ground.findings import Refused
from inventory.models import Lot, Movement, Posting, Reservation, StockItem
from inventory.reckoning.valuation import Method
from inventory.shelf.settings import close_until, set_currency, set_method
from inventory.stock.audit import audit
from inventory.stock.ledger import Remnant, count, give_back, issue, scrap, split_off, wash

pytestmark = pytest.mark.django_db


def books(of: StockItem) -> tuple[int, int, int]:
    of.refresh_from_db()
    return of.on_hand, of.in_remnants, of.value_minor


def codes(refused: pytest.ExceptionInfo[Refused]) -> set[str]:
    return {found.code for found in refused.value.findings}


def test_the_last_piece_out_takes_what_value_remains():
    tips = item("tip")
    lot = stocked(tips, 3, 100)
    for _ in range(3):
        issue(act(), lot=lot, quantity=1, job="Q1")
    assert list(Movement.objects.filter(quantity=-1).values_list("value_minor", flat=True).order_by("id")) == [
        -33,
        -34,
        -33,
    ]
    assert books(tips) == (0, 0, 0)


@pytest.mark.parametrize(("method", "costs"), [("average", [11, 11]), ("fifo", [10, 10]), ("lot", [12, 10])])
def test_each_method_tells_its_own_cost(method: str, costs: list[int]):
    set_method(Method(method))
    cord = item()
    old, new = stocked(cord, 1000, 1000), stocked(cord, 1000, 1200)
    for lot in (new, old):
        issue(act(), lot=lot, quantity=10, job="Q1")
    assert [-row.value_minor for row in Movement.objects.filter(quantity=-10).order_by("id")] == costs
    assert audit().differences == ()


def test_method_and_currency_stay_once_stock_has_moved():
    stocked(item(), 1000, 1000)
    with pytest.raises(Refused, match="so it stays"):
        set_method(Method.FIFO)
    with pytest.raises(Refused, match="so it stays"):
        set_currency("GBP")


def test_two_issues_of_the_last_metre_one_wins():
    lot = stocked(item(), 1000, 100)
    issue(act(), lot=lot, quantity=1000, job="Q1")
    with pytest.raises(Refused) as refused:
        issue(act(), lot=lot, quantity=1000, job="Q2")
    assert codes(refused) == {"ledger.not-enough"}
    assert Posting.objects.filter(kind="issue").count() == 1


def test_a_form_sent_twice_counts_once_and_with_other_figures_is_refused():
    cord = item()
    lot = stocked(cord, 1000, 100)
    key = uuid4()
    first = issue(act(key=key), lot=lot, quantity=100, job="Q1")
    assert issue(act(key=key), lot=lot, quantity=100, job="Q1") == first
    assert books(cord)[0] == 900
    with pytest.raises(Refused) as refused:
        issue(act(key=key), lot=lot, quantity=200, job="Q1")
    assert codes(refused) == {"ledger.key-reused"}


def test_what_is_kept_for_other_work_is_not_issued_unasked():
    cord = item()
    lot = stocked(cord, 1000, 100)
    kept = Reservation.objects.create(reference="Q1", title="Stage", is_firm=True, needed_by="2027-01-04")
    line = kept.lines.create(item=cord, quantity=800, operation="lacing")
    with pytest.raises(Refused) as refused:
        issue(act(), lot=lot, quantity=300, job="Q2")
    assert codes(refused) == {"ledger.reserved"}
    issue(act(), lot=lot, quantity=200, job="Q2")
    issue(act(), lot=lot, quantity=500, job="Q1", line=line)
    line.refresh_from_db()
    assert (line.issued, line.remaining) == (500, 300)
    issue(act(), lot=lot, quantity=300, job="Q2", takes_reserved=True)
    assert books(cord) == (0, 0, 0)


def test_what_is_issued_serves_all_that_is_kept_for_the_job():
    cord = item()
    lot = stocked(cord, 5000, 500)
    kept = Reservation.objects.create(reference="Q1", title="Stage", is_firm=True, needed_by="2027-01-04")
    lacing, straps = (kept.lines.create(item=cord, quantity=size, operation=str(size)) for size in (2000, 3000))
    issue(act(), lot=lot, quantity=2500, job="q1")
    issue(act(), lot=lot, quantity=2500, job="Q1")
    for line in (lacing, straps):
        line.refresh_from_db()
        assert line.remaining == 0
    kept.refresh_from_db()
    assert kept.state == Reservation.State.DONE
    assert set(Posting.objects.filter(kind="issue").values_list("job", flat=True)) == {"Q1"}


@pytest.mark.parametrize(("again", "left"), [(True, (2000, 5000)), (False, (2000, 2000))])
def test_what_comes_back_is_no_longer_counted_as_issued(again: bool, left: tuple[int, int]):
    cord = item()
    lot = stocked(cord, 9000, 900)
    kept = Reservation.objects.create(reference="Q1", title="Stage", is_firm=True, needed_by="2027-01-04")
    line = kept.lines.create(item=cord, quantity=5000, operation="lacing")
    issue(act(), lot=lot, quantity=6000, job="Q1")
    give_back(act(), lot=lot, quantity=4000, job="Q1", line=line if again else None)
    line.refresh_from_db()
    kept.refresh_from_db()
    assert (line.issued, line.quantity) == left
    assert kept.state == ("open" if again else "done")
    assert audit().differences == ()


def test_a_piece_that_began_with_one_lot_goes_on_with_it():
    satin = item("cloth")
    first, second = stocked(satin, 1000, 100), stocked(satin, 1000, 100)
    kept = Reservation.objects.create(reference="Q1", title="Stage", is_firm=True, needed_by="2027-01-04")
    line = kept.lines.create(item=satin, quantity=1500, operation="cutting", needs_one_lot=True)
    issue(act(), lot=first, quantity=200, job="Q1")
    line.refresh_from_db()
    assert line.lot == first
    with pytest.raises(Refused) as refused:
        issue(act(), lot=second, quantity=200, job="Q1")
    assert codes(refused) == {"ledger.other-lot"}
    issue(act(), lot=second, quantity=200, job="Q1", takes_reserved=True)


def test_raw_cloth_is_not_issued_unasked_and_what_is_kept_follows_it_through_the_wash():
    coutil = item("cloth")
    raw = stocked(coutil, 3000, 300, state=Lot.State.RAW)
    kept = Reservation.objects.create(reference="Q1", title="Stage", is_firm=True, needed_by="2027-01-04")
    line = kept.lines.create(item=coutil, quantity=2000, operation="cutting", needs_one_lot=True, lot=raw)
    with pytest.raises(Refused) as refused:
        issue(act(), lot=raw, quantity=2000, job="Q1")
    assert codes(refused) == {"ledger.raw"}
    wash(act(), lot=raw, quantity=3000, ready_quantity=2900)
    line.refresh_from_db()
    assert line.lot.from_lot == raw
    with pytest.raises(Refused) as refused:
        issue(act(), lot=line.lot, quantity=2000, job="Q2")
    assert codes(refused) == {"ledger.reserved"}


def test_a_raw_remnant_is_measured_after_washing():
    coutil = item("cloth")
    lot = stocked(coutil, 2000, 200, state=Lot.State.RAW)
    split_off(act(), lot=lot, remnant=Remnant(width_mm=670, length_mm=800))
    remnant = Lot.objects.get(from_lot=lot)
    with pytest.raises(Refused, match="measured after washing"):
        wash(act(), lot=remnant, quantity=400, ready_quantity=390)
    wash(act(), lot=remnant, quantity=0, ready_quantity=0, remnant=Remnant(width_mm=660, length_mm=780))
    ready = Lot.objects.get(from_lot=remnant)
    assert (ready.remnant_width_mm, ready.remnant_length_mm, ready.state) == (660, 780, "ready")
    assert books(coutil)[0] == 1600
    with pytest.raises(Refused, match="goes whole"):
        issue(act(), lot=ready, quantity=1, job="Q1")


def test_only_cloth_leaves_remnants_and_none_is_longer_than_its_lot():
    with pytest.raises(Refused, match="Only cloth"):
        split_off(act(), lot=stocked(item(), 5000, 50), remnant=Remnant(width_mm=200, length_mm=400))
    with pytest.raises(Refused, match="are more than"):
        split_off(act(), lot=stocked(item("cloth"), 1000, 50), remnant=Remnant(width_mm=200, length_mm=5000))


def test_nothing_is_booked_on_a_day_of_a_closed_month():
    cord = item()
    key = uuid4()
    lot = stocked(cord, 1000, 10)
    first = issue(act(key=key), lot=lot, quantity=10, job="Q1")
    close_until(timezone.localdate())
    assert issue(act(key=key), lot=lot, quantity=10, job="Q1") == first
    with pytest.raises(Refused, match="is closed"):
        issue(act(), lot=lot, quantity=10, job="Q1")


def test_washing_shrinks_the_length_and_keeps_the_value():
    coutil = item("cloth")
    lot = stocked(coutil, 5000, 119_00, state=Lot.State.RAW, dye_lot="K7")
    wash(act(), lot=lot, quantity=5000, ready_quantity=4850)
    assert books(coutil) == (4850, 0, 119_00)
    ready = Lot.objects.get(from_lot=lot)
    assert (ready.state, ready.dye_lot, ready.on_hand, ready.received_on) == ("ready", "K7", 4850, lot.received_on)
    with pytest.raises(Refused, match="ready already"):
        wash(act(), lot=ready, quantity=100, ready_quantity=100)
    with pytest.raises(Refused, match="cannot be"):
        wash(act(), lot=lot, quantity=100, ready_quantity=101)


def test_a_remnant_carries_its_share_of_area_and_value():
    """670 × 400 mm of a cloth 1340 mm wide are 200 mm of its length: half the width, half the length."""
    coutil = item("cloth")
    lot = stocked(coutil, 2000, 40_00)
    split_off(act(), lot=lot, remnant=Remnant(width_mm=670, length_mm=400))
    assert books(coutil) == (1800, 200, 40_00)
    remnant = Lot.objects.get(from_lot=lot)
    assert (remnant.on_hand, remnant.remnant_width_mm, remnant.remnant_length_mm) == (200, 670, 400)
    issue(act(), lot=remnant, quantity=200, job="Q1")
    assert books(coutil) == (1800, 0, 36_00)


@pytest.mark.parametrize(
    ("width", "length", "code"),
    [(100, 400, "remnant.too-small"), (1400, 400, "remnant.width"), (400, 200, "remnant.too-small")],
)
def test_what_is_no_remnant_is_said(width: int, length: int, code: str):
    lot = stocked(item("cloth"), 2000, 40_00)
    with pytest.raises(Refused) as refused:
        split_off(act(), lot=lot, remnant=Remnant(width_mm=width, length_mm=length))
    assert codes(refused) == {code}


def test_what_comes_back_is_worth_what_it_was_issued_for():
    coutil = item("cloth")
    lot = stocked(coutil, 2000, 40_00)
    issue(act(), lot=lot, quantity=1000, job="Q1")
    stocked(coutil, 1000, 90_00)
    give_back(act(), lot=lot, quantity=100, job="Q1")
    give_back(act(), lot=lot, quantity=0, job="Q1", remnant=Remnant(width_mm=670, length_mm=400))
    assert books(coutil) == (2100, 200, 20_00 + 90_00 + 2_00 + 4_00)
    with pytest.raises(Refused) as refused:
        give_back(act(), lot=lot, quantity=701, job="Q1")
    assert codes(refused) == {"ledger.not-issued"}


def test_an_offcut_that_is_too_small_does_not_come_back_as_a_remnant():
    lot = stocked(item("cloth"), 2000, 40_00)
    issue(act(), lot=lot, quantity=1000, job="Q1")
    with pytest.raises(Refused) as refused:
        give_back(act(), lot=lot, quantity=0, job="Q1", remnant=Remnant(width_mm=100, length_mm=200))
    assert codes(refused) == {"remnant.too-small"}


def test_a_lot_that_was_begun_is_taken_first():
    cord = item()
    old, new = stocked(cord, 1000, 10), stocked(cord, 1000, 10)
    assert list(cord.lots.all()) == [old, new]
    issue(act(), lot=new, quantity=10, job="Q1")
    assert list(cord.lots.all()) == [new, old]


def test_counts_and_scrap_ask_for_a_reason():
    lot = stocked(item("tip"), 10, 100)
    for doing in (lambda: count(act(), [(lot, 1)]), lambda: scrap(act(), lot=lot, quantity=1)):
        with pytest.raises(Refused) as refused:
            doing()
        assert codes(refused) == {"ledger.no-cause"}


def test_a_count_posts_all_its_differences_at_once_or_none():
    tips, busks = item("tip"), item("busk")
    tip_lot, busk_lot = stocked(tips, 10, 100), stocked(busks, 2, 22_80)
    count(act("miscounted"), [(tip_lot, 2), (busk_lot, -1)])
    assert books(tips) == (12, 0, 120)
    assert books(busks) == (1, 0, 11_40)
    with pytest.raises(Refused):
        count(act("again"), [(tip_lot, 1), (busk_lot, -2)])
    assert books(tips) == (12, 0, 120)


def test_what_a_count_finds_where_nothing_was_left_takes_the_price_of_the_list():
    cord = item()
    lot = stocked(cord, 1000, 100)
    issue(act(), lot=lot, quantity=1000, job="Q1")
    count(act("behind the drawer"), [(lot, 500)])
    assert books(cord) == (500, 0, 58)  # 0.5 m at 1.15, half up


@pytest.mark.parametrize("table", ["inventory_posting", "inventory_movement"])
@pytest.mark.parametrize("statement", ["UPDATE {} SET id = id", "DELETE FROM {}"])
def test_the_database_itself_keeps_the_ledger(table: str, statement: str):
    stocked(item(), 1000, 100)
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement.format(table))


def test_replacing_a_row_is_refused_too():
    stocked(item(), 1000, 100)
    if connection.vendor == "sqlite":
        with pytest.raises(IntegrityError, match="never changed"), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("REPLACE INTO inventory_movement SELECT * FROM inventory_movement")


@pytest.mark.parametrize(
    ("model", "change"),
    [(StockItem, {"on_hand": 999}), (StockItem, {"value_minor": 1}), (Lot, {"on_hand": 7})],
)
def test_audit_names_the_row_that_differs(model: type[StockItem] | type[Lot], change: dict[str, int]):
    stocked(item(), 1000, 100)
    assert audit().differences == ()
    model.objects.update(**change)
    (row,) = audit().differences
    assert row.table == model._meta.db_table
    assert str(next(iter(change.values()))) in row.found


def test_oversold_balances_cannot_be_kept():
    lot = stocked(item(), 1000, 100)
    with pytest.raises(IntegrityError), transaction.atomic():
        Lot.objects.filter(pk=lot.pk).update(on_hand=-1)


@pytest.mark.parametrize("way", ["wash", "split off"])
def test_a_part_knows_all_that_its_lot_knew(way: str):
    """Every field of a lot but what it holds, what was done to it and where it came from, whatever fields there will be."""
    coutil = item("cloth")
    supplier = SupplierFactory(code="fennimore")
    wish = OrderWish(offer=offered(supplier, coutil, 1), packs=3)
    (ordered,) = draft_order(supplier, [wish], user=None, on=timezone.localdate()).lines.all()
    lot = stocked(coutil, 3000, 300, state=Lot.State.RAW, supplier=supplier, dye_lot="7b", place="Drawer 2")
    Lot.objects.filter(pk=lot.pk).update(note="a fault at the selvedge", purchase_line=ordered)
    if way == "wash":
        wash(act(), lot=lot, quantity=1000, ready_quantity=980)
    else:
        split_off(act(), lot=lot, remnant=Remnant(width_mm=670, length_mm=800))
    of_its_own = {"id", "from_lot_id", "on_hand", "is_open", "remnant_width_mm", "remnant_length_mm", "state"}
    shared = [field.attname for field in Lot._meta.concrete_fields if field.attname not in of_its_own]
    assert "note" in shared
    part, whole = Lot.objects.get(from_lot=lot), Lot.objects.get(pk=lot.pk)
    assert {name: getattr(part, name) for name in shared} == {name: getattr(whole, name) for name in shared}
