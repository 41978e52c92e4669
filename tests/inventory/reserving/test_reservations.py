"""What is kept for whom, what is free, and whether work can start.

Trade rules (an accepted quote keeps firmly, what is seen is of one lot, bones a little shorter serve): common practice,
no source.
"""

from datetime import date, timedelta

import pytest
from support_shelf import SupplierFactory, act, item, offered, stocked

from inventory.buying.purchasing import OrderWish, draft_order, place
from inventory.ground.findings import Refused
from inventory.models import Reservation
from inventory.reserving.availability import availability, lacks
from inventory.reserving.reservations import Wish, active_lines, keep_from_lot, release, reserve
from inventory.stock.ledger import issue

pytestmark = pytest.mark.django_db

TODAY = date(2027, 1, 4)
LATER = TODAY + timedelta(days=20)


def kept(reference: str, *wishes: Wish, expires_on: date | None = None, needed_by: date = LATER) -> Reservation:
    return reserve(
        reference=reference, title="Stage", link="", wishes=wishes, needed_by=needed_by, expires_on=expires_on
    )


def test_a_quote_keeps_softly_until_it_expires_and_firmly_once_accepted():
    cord = item()
    stocked(cord, 10_000, 1150)
    wish = Wish(item=cord, quantity=6000, operation="lacing")
    kept("Q1", wish, expires_on=TODAY)
    standing = availability([cord.pk], on=TODAY)[cord.pk]
    assert (standing.firm, standing.soft, standing.free) == (0, 6000, 4000)
    assert availability([cord.pk], on=TODAY + timedelta(days=1))[cord.pk].free == 10_000
    kept("Q1", wish)
    assert availability([cord.pk], on=LATER)[cord.pk].firm == 6000
    assert Reservation.objects.count() == 1
    release("Q1", why="cancelled")
    assert not active_lines(on=TODAY).exists()
    assert Reservation.objects.get().why == "cancelled"


def test_what_was_issued_stays_issued_when_the_reservation_is_made_anew():
    cord, tape = item(), item("waist-tape")
    lot = stocked(cord, 10_000, 1150)
    line = kept("Q1", Wish(item=cord, quantity=6000, operation="lacing")).lines.get()
    issue(act(), lot=lot, quantity=2000, job="Q1", line=line)
    kept("Q1", Wish(item=tape, quantity=800, operation="tape"))
    line.refresh_from_db()
    assert (line.quantity, line.issued, line.remaining) == (2000, 2000, 0)
    assert [row.item for row in active_lines(on=TODAY)] == [tape]


def test_what_is_missing_is_said_with_the_operation_and_the_day_on_which_it_comes():
    cord = item()
    stocked(cord, 5000, 500)
    wish = Wish(item=cord, quantity=8000, operation="lacing")
    (lack,) = lacks([wish], start=LATER, on=TODAY)
    assert (lack.quantity, lack.there_on, lack.wish.operation) == (3000, None, "lacing")
    supplier = SupplierFactory(lead_days=30)
    order = draft_order(supplier, [OrderWish(offer=offered(supplier, cord, 10), packs=1)], user=None, on=TODAY)
    place(order, on=TODAY)
    (lack,) = lacks([wish], start=LATER, on=TODAY)
    assert (lack.there_on, lack.order) == (TODAY + timedelta(days=30), order.number)
    assert lacks([wish], start=TODAY + timedelta(days=30), on=TODAY) == []


def test_firm_work_that_is_needed_sooner_goes_first_and_quotes_do_not_compete():
    cord = item()
    stocked(cord, 10_000, 1000)
    kept("Q1", Wish(item=cord, quantity=6000, operation="lacing"), needed_by=TODAY)
    kept("Q2", Wish(item=cord, quantity=6000, operation="lacing"), expires_on=LATER)
    wish = Wish(item=cord, quantity=6000, operation="lacing")
    assert [lack.quantity for lack in lacks([wish], start=LATER, on=TODAY)] == [2000]
    assert lacks([wish], start=LATER, reference="Q1", on=TODAY) == []
    assert lacks([wish], start=TODAY - timedelta(days=1), on=TODAY) == []


def test_what_is_seen_must_be_of_one_lot():
    satin = item("cloth")
    first = stocked(satin, 400, 1000)
    stocked(satin, 300, 1000)
    seen = Wish(item=satin, quantity=500, operation="cutting", needs_one_lot=True)
    (lack,) = lacks([seen], start=LATER, on=TODAY)
    assert lack.is_of_one_lot
    hidden = Wish(item=satin, quantity=500, operation="cutting")
    assert lacks([hidden], start=LATER, on=TODAY) == []
    fits = Wish(item=satin, quantity=400, operation="cutting", needs_one_lot=True)
    assert lacks([fits], start=LATER, on=TODAY) == []
    line = kept("Q1", Wish(item=satin, quantity=300, operation="cutting", needs_one_lot=True)).lines.get()
    keep_from_lot(line, first)
    other = kept("Q2", fits).lines.get()
    with pytest.raises(Refused, match=r"has 0\.1 m free, not 0\.4 m"):
        keep_from_lot(other, first)


def test_a_lot_of_another_item_is_not_kept():
    line = kept("Q1", Wish(item=item(), quantity=300, operation="lacing")).lines.get()
    with pytest.raises(Refused, match="is not of"):
        keep_from_lot(line, stocked(item(), 1000, 10))
