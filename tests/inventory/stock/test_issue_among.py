"""What was cut from a lot at once goes to several jobs, to the millimetre and the cent.

Values by hand: a moving average of 2 cents a millimetre.
"""

from datetime import timedelta

import pytest
from django.utils import timezone
from support_shelf import act, item, stocked

from inventory.ground.findings import Refused
from inventory.models import Lot, Movement, Posting, ReservationLine, Shelf, StockItem
from inventory.reserving.reservations import Wish, reserve
from inventory.stock.audit import audit
from inventory.stock.ledger import Remnant, issue_among, split_off

pytestmark = pytest.mark.django_db


@pytest.fixture
def cloth() -> StockItem:
    return item("cloth", material__usable_width_mm=1000)


def worth_of(job: str) -> tuple[int, int]:
    """What a job took: base units and minor units."""
    rows = list(Movement.objects.filter(posting__job=job).values_list("quantity", "value_minor"))
    return -sum(quantity for quantity, _ in rows), -sum(value for _, value in rows)


def kept(cloth: StockItem, job: str, quantity: int) -> ReservationLine:
    soon = timezone.localdate() + timedelta(days=9)
    wish = Wish(item=cloth, quantity=quantity, operation="Cut")
    return reserve(
        reference=job, title=job, link="", wishes=[wish], needed_by=soon, expires_on=None
    ).lines.get()  # fmt: skip


def test_each_job_takes_its_part_and_its_line_is_served(cloth: StockItem):
    lot, line = stocked(cloth, 3000, 6000), kept(cloth, "Q7", 700)
    postings = issue_among(act("Laid together"), lot=lot, parts={"Q7": 600, "Q8": 401})
    assert [(posting.job, posting.why) for posting in postings] == [("Q7", "Laid together"), ("Q8", "Laid together")]
    assert (worth_of("Q7"), worth_of("Q8")) == ((600, 1200), (401, 802))
    line.refresh_from_db()
    assert line.issued == 600
    lot.refresh_from_db()
    assert (lot.on_hand, lot.is_open) == (1999, True)
    assert audit().differences == ()


def test_a_remnant_goes_whole_to_those_who_share_it_and_not_in_part(cloth: StockItem):
    lot = stocked(cloth, 3000, 6000)
    split_off(act(), lot=lot, remnant=Remnant(width_mm=500, length_mm=400))
    remnant = Lot.objects.get(from_lot=lot)
    assert remnant.on_hand == 200
    with pytest.raises(Refused, match="A remnant goes whole"):
        issue_among(act(), lot=remnant, parts={"Q7": 120, "Q8": 79})
    assert not Posting.objects.filter(kind="issue").exists()
    issue_among(act(), lot=remnant, parts={"Q7": 120, "Q8": 80})
    assert (worth_of("Q7"), worth_of("Q8")) == ((120, 240), (80, 160))
    cloth.refresh_from_db()
    assert (cloth.in_remnants, cloth.on_hand) == (0, 2800)
    assert audit().differences == ()


def test_more_than_is_there_leaves_nothing_behind(cloth: StockItem):
    lot = stocked(cloth, 500, 1000)
    with pytest.raises(Refused, match=r"It holds 0\.1 m"):
        issue_among(act(), lot=lot, parts={"Q7": 400, "Q8": 200})
    assert not Posting.objects.filter(kind="issue").exists()


def test_what_stays_of_a_remnant_is_split_off_first_with_its_share_of_the_value(cloth: StockItem):
    """Of 500 × 400 mm, worth 200 mm of the roll and 4.00, a rest of 500 × 300 is worth 150 mm and 3.00."""
    lot = stocked(cloth, 3000, 6000)
    Shelf.objects.update(remnant_width_mm=200, remnant_length_mm=200)
    split_off(act(), lot=lot, remnant=Remnant(width_mm=500, length_mm=400))
    remnant = Lot.objects.get(from_lot=lot)
    issue_among(act(), lot=remnant, parts={"Q7": 30, "Q8": 20}, rest=Remnant(width_mm=500, length_mm=300))
    assert (worth_of("Q7"), worth_of("Q8")) == ((30, 60), (20, 40))
    rest = Lot.objects.get(from_lot=remnant)
    assert (rest.remnant_width_mm, rest.remnant_length_mm, rest.on_hand) == (500, 300, 150)
    assert sum(Movement.objects.filter(lot=rest).values_list("value_minor", flat=True)) == 300
    another = split_off(act(), lot=lot, remnant=Remnant(width_mm=500, length_mm=400)).movements.get(quantity__gt=0).lot
    with pytest.raises(Refused, match="smaller than what is kept"):
        issue_among(act(), lot=another, parts={"Q7": 150}, rest=Remnant(width_mm=500, length_mm=100))
    another.refresh_from_db()
    assert another.on_hand == 200
    assert audit().differences == ()
