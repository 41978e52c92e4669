"""What comes to light after a piece was delivered, and what is given up: nothing of it is in no month.

Common practice of bookkeeping, no source; amounts by hand from the invoice.
"""

from copy import deepcopy
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from support_bench import codes
from support_books import agreed, finished, month_before, operation, today, worked
from support_shelf import stocked

from inventory.ground.findings import Refused
from inventory.models import Movement
from inventory.reserving.reservations import firm_lines, keep_again
from inventory.stock import ledger
from inventory.stock.ledger import Act
from quotes.models import PatternRevision
from studio.accounts.accounting import is_out_of_date
from studio.bench.job_making import cancel_job, make_job
from studio.bench.job_materials import issue_planned, planned_lines, spoil, take_back, worth_minor
from studio.bench.timing import correct
from studio.books.months import close_month, months
from studio.client.delivery import deliver, expected_invoice
from studio.client.payments import take_payment
from studio.models import Job, PieceAccount
from studio.money.bills import bill, tax_of

LAST = month_before(today())
THIS = today().replace(day=1)


@pytest.fixture
def job(pattern: PatternRevision, books: User) -> Job:
    """A piece that was delivered on the twelfth of last month."""
    return finished(agreed(pattern, books), books, on=LAST)


def paid(job: Job, user: User, *, fee: int, amount: int = 5000, what: str = "balance") -> None:
    take_payment(job, what=what, amount_minor=amount, fee_minor=fee, day=today(), note="", key=uuid4(), user=user)


def test_time_lies_no_later_than_the_delivery(pattern: PatternRevision, books: User):
    """Else a correction of it would be of a closed piece in an open month, and in no account."""
    late = make_job(agreed(pattern, books), user=books, on=LAST)
    worked(operation(late, "CUT"), books, 30, on=today())
    with pytest.raises(Refused, match="Time was logged on"):
        deliver(late, invoice=expected_invoice(late), on=LAST, user=books)
    deliver(late, invoice=expected_invoice(late), on=today(), user=books)


def test_time_is_not_corrected_to_a_day_after_the_delivery(job: Job, books: User):
    entry = operation(job, "CUT").entries.get()
    with pytest.raises(Refused, match="was handed over on"):
        correct(entry, user=books, key=uuid4(), day=LAST + timedelta(days=1), minutes=5, why="Another day")
    correct(entry, user=books, key=uuid4(), day=LAST, minutes=5, why="Forgotten timer")


def test_the_fee_of_a_balance_that_comes_after_the_delivery_is_the_pieces_own(job: Job, books: User):
    before = PieceAccount.objects.get().kept.account
    paid(job, books, fee=115)
    kept = PieceAccount.objects.get()
    found = kept.kept.account
    assert (found.fee, found.profit) == (before.fee + Decimal("1.15"), before.profit - Decimal("1.15"))
    assert not is_out_of_date(kept)


def test_the_fee_of_a_balance_that_comes_after_its_month_counts_in_the_next(job: Job, books: User):
    paid(job, books, fee=20)
    close_month(LAST.year, LAST.month, user=None)
    stood = PieceAccount.objects.values().get()
    paid(job, books, fee=115)
    assert PieceAccount.objects.values().get() == stood
    assert {row.first_day: row.corrections_minor for row in months()} == {THIS: -115, LAST.replace(day=1): 0}


def test_all_of_the_price_can_be_given_away(pattern: PatternRevision, books: User):
    """Nothing is invoiced, so nothing is taxed: never a cent less or more than nothing."""
    given = make_job(agreed(pattern, books), user=books, on=today())
    for share in ("0.05", "0.077", "0.081", "0.19", "0.2", "0.21", "0.25", "0.0825"):
        for gross in range(10_000, 10_040):
            tax = round(Decimal(gross) * Decimal(share) / (1 + Decimal(share)))
            net = gross - tax
            figures = deepcopy(given.revision.figures)
            figures["quotation"]["options"][0].update(net=f"{Decimal(net) / 100:.2f}", tax=f"{Decimal(tax) / 100:.2f}")
            figures["rates"]["tax_share"] = share
            given.revision.figures = figures
            found = expected_invoice(given, discount_minor=net)
            assert (found.net_minor, tax_of(given, found.net_minor)) == (0, 0), (share, gross)
            assert tax_of(given, expected_invoice(given).net_minor) == tax
    deliver(given, invoice=replace(found, extras_minor=0), on=today(), user=books)


def test_what_was_invoiced_wins_over_what_was_agreed(job: Job):
    assert bill(job).agreed_net_minor == job.net_minor


def test_no_delivery_below_nothing(pattern: PatternRevision, books: User):
    open_job = make_job(agreed(pattern, books), user=books, on=today())
    invoice = expected_invoice(open_job, discount_minor=10**6)
    with pytest.raises(Refused) as caught:
        deliver(open_job, invoice=invoice, on=today(), user=books)
    assert codes(caught) == ["delivery.amount"]


def test_material_of_a_cancelled_job_is_a_loss_of_the_month_until_it_comes_back(pattern: PatternRevision, books: User):
    given_up = make_job(agreed(pattern, books), user=books, on=LAST)
    taken = 0
    for line in planned_lines(given_up)[:2]:
        lot = stocked(line.item, 2 * line.quantity, 5000)
        issued = ledger.issue(
            Act(key=uuid4(), by=books, day=LAST), lot=lot, quantity=line.quantity, job="Q1", line=line
        )
        taken -= issued.movements.get().value_minor
    assert months() == []
    cancel_job(given_up, why="moved abroad", user=books)
    assert worth_minor(given_up) == taken > 0
    (row,) = months()
    assert (row.first_day, row.cancelled_minor, row.together_minor, row.pieces) == (THIS, -taken, -taken, 0)
    back = ledger.give_back(Act(key=uuid4(), by=books), lot=lot, quantity=line.quantity, job="Q1")
    assert months()[0].cancelled_minor == back.movements.get().value_minor - taken


def test_the_question_before_a_job_is_cancelled_says_what_is_lost(
    pattern: PatternRevision, books: User, browser: Browser
):
    job = make_job(agreed(pattern, books), user=books, on=today())
    page = reverse("job-cancel", args=[job.pk])
    assert b"loss of this month" not in browser.get(page).content
    line = planned_lines(job)[0]
    lot = stocked(line.item, line.quantity, 1234)
    ledger.issue(Act(key=uuid4(), by=books), lot=lot, quantity=line.quantity, job=job.reference, line=line)
    assert "It took €12.34 of material." in browser.get(page).content.decode()
    browser.post(page, {"why": "moved abroad"})
    assert "−€12.34" in browser.get(reverse("months")).content.decode()


@pytest.mark.parametrize("is_cancelled", [False, True])
def test_nothing_is_ever_kept_again_for_work_that_is_over(pattern: PatternRevision, books: User, is_cancelled: bool):
    """Neither by the shelf's own button nor by what comes back although everything had been issued."""
    job = make_job(agreed(pattern, books), user=books, on=today())
    for line in planned_lines(job):
        lot = stocked(line.item, line.quantity, 5000)
        issue_planned(job, line, lot=lot, quantity=line.quantity, key=uuid4(), user=books, takes_reserved=True)
    if is_cancelled:
        cancel_job(job, why="moved abroad", user=books)
    else:
        deliver(job, invoice=expected_invoice(job), on=today(), user=books)
    take_back(job, lot=lot, quantity=line.quantity, remnant=None, is_still_needed=True, key=uuid4(), user=books)
    with pytest.raises(Refused, match="This work is over"):
        keep_again(job.reference, on=today())
    assert not firm_lines().exists()


def test_what_comes_back_and_what_is_spoiled_reaches_the_account_with_the_posting(job: Job, books: User):
    """2 of the tips at €0.11 are spoiled afresh, 2 others come back."""
    tips = Movement.objects.get(posting__job=job.reference, item__code="tip-7").lot
    before = PieceAccount.objects.get().actual_profit_minor
    spoil(job, lot=tips, quantity=2, cause="own-slip", words="", is_cut_again=True, key=uuid4(), user=books)
    assert PieceAccount.objects.get().actual_profit_minor == before - 22
    take_back(job, lot=tips, quantity=2, remnant=None, is_still_needed=False, key=uuid4(), user=books)
    assert PieceAccount.objects.get().actual_profit_minor == before
    assert not is_out_of_date(PieceAccount.objects.get())
