"""What a receipt cost in the end, after some of it was used: hand-worked cases by each method of valuation.

Source of the methods: IAS 2 Inventories, paragraphs 10, 11 and 23 to 27; the figures are worked by hand. That any sequence of
acts agrees with a plain model is in test_ledger_stateful.
"""

from datetime import date
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.utils import timezone
from support_shelf import act, item, stocked

from inventory.ground.findings import Refused
from inventory.models import Lot, Movement, Posting, StockItem
from inventory.reckoning.valuation import Method
from inventory.shelf.settings import close_until, set_method
from inventory.stock.audit import audit
from inventory.stock.correcting import CorrectedCost, correct_costs, landed_receipts, paid_minor
from inventory.stock.ledger import Act, give_back, issue, scrap, split_off, wash
from inventory.stock.moved import last_movement, moved_since
from inventory.stock.remnants import Remnant

pytestmark = pytest.mark.django_db


def corrected(lot: Lot, paid: int, why: str = "Invoice 17", *, doing: Act | None = None) -> Posting:
    cost = CorrectedCost(lot=lot, seen_minor=paid_minor([lot.pk])[lot.pk], paid_minor=paid)
    return correct_costs(doing or act(why), [cost])


def cost_of(job: str) -> int:
    return -sum(Movement.objects.filter(posting__job=job).values_list("value_minor", flat=True))


def codes(refused: pytest.ExceptionInfo[Refused]) -> list[str]:
    return [found.code for found in refused.value.findings]


@pytest.mark.parametrize(
    ("method", "left", "first_job", "second_job"),
    [
        # Known from the start: 10 m at 2.00, of which 4 m go at 8.00; with 10 m at 1.00 there are 16 m at 22.00, and 8 m go
        # at 11.00.
        (Method.AVERAGE, 1100, 800, 1100),
        # 8 m are the last 6 m of the first at 12.00 and 2 m of the second at 2.00.
        (Method.FIFO, 800, 800, 1400),
        # 8 m of the second lot at 8.00.
        (Method.LOT, 1400, 800, 800),
    ],
)
def test_the_books_stand_as_if_the_invoice_had_come_with_the_goods(
    method: Method, left: int, first_job: int, second_job: int
):
    """10 m came at 1.00, 4 m went, 10 m came at 1.00, 8 m went; then the first 10 m turn out to have cost 20.00."""
    set_method(method)
    cord = item()
    first = stocked(cord, 10_000, 1000)
    issue(act(), lot=first, quantity=4_000, job="Q1")
    second = stocked(cord, 10_000, 1000)
    issue(act(), lot=second, quantity=8_000, job="Q2")
    posting = corrected(first, 2000)
    cord.refresh_from_db()
    assert (cord.value_minor, cost_of("Q1"), cost_of("Q2")) == (left, first_job, second_job)
    assert posting.movements.get().value_minor == 1000
    assert {row.why for row in posting.consequences.all()} == {"Invoice 17"}
    assert audit().differences == ()


@pytest.mark.parametrize("method", list(Method))
def test_a_credit_comes_back_to_all_who_used_of_it(method: Method):
    """12 m at 12.00: 3 m to a job, 1 m of it back, 2 m scrapped; a credit of 6.00 halves all of it."""
    set_method(method)
    cord = item()
    lot = stocked(cord, 12_000, 1200)
    issue(act(), lot=lot, quantity=3_000, job="Q1")
    give_back(act(), lot=lot, quantity=1_000, job="Q1")
    scrap(act("frayed"), lot=lot, quantity=2_000)
    corrected(lot, 600, "Credit note 4")
    cord.refresh_from_db()
    assert (cord.on_hand, cord.value_minor, cost_of("Q1")) == (8_000, 400, 100)
    assert sum(Movement.objects.filter(posting__kind="scrap").values_list("value_minor", flat=True)) == -100
    give_back(act(), lot=lot, quantity=2_000, job="Q1")
    assert cost_of("Q1") == 0
    assert audit().differences == ()


def test_a_credit_beyond_what_is_left_is_shared_before_it_is_booked():
    """10 m at 10.00, 9 m gone; a credit of 5.00 is more than the 1.00 that is left."""
    cord = item()
    lot = stocked(cord, 10_000, 1000)
    issue(act(), lot=lot, quantity=9_000, job="Q1")
    corrected(lot, 500)
    cord.refresh_from_db()
    assert (cord.value_minor, cost_of("Q1")) == (50, 450)


def test_a_lot_that_is_used_up_leaves_nothing_on_the_shelf():
    cord = item()
    lot = stocked(cord, 3_000, 100)
    for job in ("Q1", "Q2", "Q3"):
        issue(act(), lot=lot, quantity=1_000, job=job)
    corrected(lot, 101)
    cord.refresh_from_db()
    assert cord.value_minor == 0
    assert sum(cost_of(job) for job in ("Q1", "Q2", "Q3")) == 101


@pytest.mark.parametrize("method", list(Method))
def test_what_was_washed_or_split_off_carries_its_part(method: Method):
    """20 m at 20.00: 10 m washed to 9 m, 1 m of full width split off; the double price doubles all of it."""
    set_method(method)
    cloth = item("cloth", material__usable_width_mm=1000)
    raw = stocked(cloth, 20_000, 2000, state="raw")
    ready = wash(act(), lot=raw, quantity=10_000, ready_quantity=9_000).movements.get(quantity__gt=0).lot
    part = split_off(act(), lot=ready, remnant=Remnant(width_mm=1000, length_mm=1000))
    before = _by_lot()
    corrected(raw, 4000)
    assert {pk: 2 * value for pk, value in before.items()} == pytest.approx(_by_lot(), abs=2)
    assert sum(_by_lot().values()) == 4000
    assert audit().differences == ()
    with pytest.raises(Refused) as refused:
        correct_costs(act("x"), [CorrectedCost(lot=part.movements.get(quantity__gt=0).lot, seen_minor=0, paid_minor=9)])
    assert codes(refused) == ["ledger.not-received"]


def _by_lot() -> dict[int, int]:
    sums: dict[int, int] = {}
    for lot, value in Movement.objects.values_list("lot", "value_minor"):
        sums[lot] = sums.get(lot, 0) + value
    return sums


def test_the_same_form_counts_once_and_another_one_that_is_older_is_refused():
    lot = stocked(item(), 10_000, 1000)
    doing = act("Invoice 17")
    cost = CorrectedCost(lot=lot, seen_minor=1000, paid_minor=1500)
    assert correct_costs(doing, [cost]) == correct_costs(doing, [cost])
    assert paid_minor([lot.pk]) == {lot.pk: 1500}
    with pytest.raises(Refused) as refused:
        correct_costs(act("Invoice 17"), [cost])
    assert codes(refused) == ["ledger.cost-changed"]


@pytest.mark.parametrize(
    ("paid", "why", "code"),
    [
        (1000, "x", "ledger.nothing-corrected"),
        (900, " ", "ledger.no-cause"),
        (-1, "x", "ledger.below-nothing"),
        (10**15 + 1, "x", "ledger.too-much"),
    ],
)
def test_what_cannot_be_is_refused_and_leaves_nothing(paid: int, why: str, code: str):
    lot = stocked(item(), 10_000, 1000)
    with pytest.raises(Refused) as refused:
        corrected(lot, paid, why)
    assert codes(refused) == [code]
    assert Movement.objects.count() == 1


def test_a_closed_month_is_not_booked_in():
    lot = stocked(item(), 10_000, 1000)
    close_until(date(2027, 1, 31))
    with pytest.raises(Refused) as refused:
        corrected(lot, 1100, doing=act("Invoice 17", day=date(2027, 1, 20)))
    assert codes(refused) == ["books.month-closed"]


def test_a_corrected_cost_is_shown_and_moves_nothing(browser: Browser):
    cord = StockItem.objects.get(pk=item().pk)
    lot = stocked(cord, 10_000, 1000)
    issue(act(), lot=lot, quantity=1_000, job="Q1")
    seen = last_movement(lot)
    answer = browser.post(
        f"/shelf/lots/{lot.pk}/cost/", {"key": uuid4(), "book": 1000, "paid": "15.00", "why": "Invoice 17"}
    )
    assert answer.status_code == 302
    assert moved_since(lot, seen) == ""
    page = browser.get(f"/shelf/lots/{lot.pk}/").content.decode()
    assert "Cost corrected" in page
    assert "Issued, cost corrected" in page
    assert [str(row.unit_cost("EUR")) for row in landed_receipts(item=cord)] == ["1.500"]


def test_a_movement_of_nothing_is_refused_by_the_database():
    lot = stocked(item(), 10_000, 1000)
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.create(
            posting=Posting.objects.get(),
            item=lot.item,
            lot=lot,
            day=timezone.localdate(),
            quantity=0,
            value_minor=0,
        )


def test_the_audit_finds_a_difference_that_was_shared_otherwise():
    cord = item()
    lot = stocked(cord, 10_000, 1000)
    issue(act(), lot=lot, quantity=5_000, job="Q1")
    posting = corrected(lot, 2000)
    share = posting.consequences.get()
    for value in (1, -1):
        Movement.objects.create(
            posting=share if value > 0 else posting,
            item=cord,
            lot=lot,
            day=timezone.localdate(),
            quantity=0,
            value_minor=value,
        )
    assert audit().differences != ()


def test_who_corrected_it_is_kept(maker_of_corrections: User):
    lot = stocked(item(), 10_000, 1000)
    issue(act(), lot=lot, quantity=1_000, purpose="sample")
    posting = corrected(lot, 1100, doing=act("Invoice 17", by=maker_of_corrections))
    assert {posting.by, posting.consequences.get().by} == {maker_of_corrections}
    assert posting.consequences.get().purpose == "sample"


@pytest.fixture
def maker_of_corrections() -> User:
    return User.objects.create_user("corrects", password="pins and chalk")
