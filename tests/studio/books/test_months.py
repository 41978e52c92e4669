"""Months close in their order, their figures stand, and what comes to light later counts in the next.

Common practice of bookkeeping, no source; overhead by Garrison, Noreen and Brewer, Managerial Accounting (over- or
under-absorbed: what the rate took less what there was to pay for). The calendar is the standard library's.
"""

from calendar import isleap
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from importlib import import_module
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import DatabaseError, connection, transaction
from django.utils import timezone
from support_books import agreed, finished, month_before, operation, today, worked
from support_commands import run
from support_shelf import act, item, stocked

from inventory.ground.findings import Refused
from inventory.ground.site.triggers import Trigger
from inventory.models import Movement, Shelf
from inventory.stock import ledger
from inventory.stock.ledger import Act
from quotes.models import PatternRevision, YearlyCost
from studio.accounts.accounting import is_out_of_date, settle, settle_again
from studio.bench.job_making import make_job
from studio.bench.job_materials import spoil
from studio.bench.timing import correct
from studio.books.months import close_month, last_day, months, next_to_close, reopen_month
from studio.books.sums import overhead
from studio.client.delivery import deliver, expected_invoice
from studio.client.payments import take_payment
from studio.models import ClosedMonth, Job, Payment, PieceAccount, ReopenedMonth, TimeEntry

LAST = month_before(today())
BEFORE = month_before(today(), 2)


@pytest.fixture
def job(pattern: PatternRevision, books: User) -> Job:
    """A piece that was delivered on the twelfth of last month."""
    return finished(agreed(pattern, books), books, on=LAST)


def closed(day: date) -> ClosedMonth:
    return close_month(day.year, day.month, user=None)


def test_closing_works_its_pieces_out_and_their_figures_stand(job: Job):
    row = closed(LAST)
    kept = PieceAccount.objects.get()
    assert (row.first_day, kept.job) == (LAST.replace(day=1), job)
    assert kept.frozen_at == row.closed_at
    assert Shelf.objects.get().closed_until == last_day(row.first_day)


def test_a_month_of_several_pieces_is_told_of_once(
    job: Job, pattern: PatternRevision, books: User, django_capture_on_commit_callbacks
):
    finished(agreed(pattern, books, title="Second"), books, on=LAST)
    with django_capture_on_commit_callbacks() as left_to_do:
        closed(LAST)
    assert PieceAccount.objects.filter(frozen_at__isnull=False).count() == 2
    assert len(left_to_do) == 1


def test_a_closed_piece_refuses_to_be_worked_out_again(job: Job):
    closed(LAST)
    with pytest.raises(Refused, match=f"{LAST:%B %Y} is closed, and the figures of this piece stand"):
        settle(job)
    settle_again(job)
    assert not is_out_of_date(PieceAccount.objects.get())


def test_nothing_is_booked_in_a_closed_month_any_more(job: Job, pattern: PatternRevision, books: User):
    late = make_job(agreed(pattern, books, title="Late"), user=books, on=LAST)
    closed(LAST)
    sentence = f"{LAST:%B %Y} is closed, and its figures stand"
    cord = stocked(item("cord"), 5000, 500)
    entry = TimeEntry.objects.filter(operation__job=job)[0]
    invoice = expected_invoice(late)
    payment = {"what": Payment.What.BALANCE, "amount_minor": 100, "fee_minor": 0, "note": "", "key": uuid4()}
    for touch in (
        lambda: ledger.issue(act(day=LAST), lot=cord, quantity=1, job=late.reference),
        lambda: worked(operation(late, "CUT"), books, 30, on=LAST),
        lambda: correct(entry, user=books, key=uuid4(), day=today(), minutes=5, why="Forgotten timer"),
        lambda: deliver(late, invoice=invoice, on=LAST, user=books),
        lambda: take_payment(late, day=LAST, user=books, **payment),
    ):
        with pytest.raises(Refused, match=sentence):
            touch()
    late.refresh_from_db()
    assert late.is_open


def test_what_comes_to_light_later_counts_in_the_next_month(job: Job, books: User):
    """0.1 m of coutil at €23.80 comes back, 2 tips at €0.11 are spoiled afresh: €2.38 − €0.22."""
    closed(LAST)
    stood = PieceAccount.objects.get().actual_profit_minor
    coutil = Movement.objects.get(posting__job=job.reference, item__code="coutil-white").lot
    tips = Movement.objects.get(posting__job=job.reference, item__code="tip-7").lot
    ledger.give_back(Act(key=uuid4(), by=books), lot=coutil, quantity=100, job=job.reference)
    spoil(job, lot=tips, quantity=2, cause="own-slip", words="", is_cut_again=True, key=uuid4(), user=books)
    assert {row.first_day: row.corrections_minor for row in months()} == {
        today().replace(day=1): 216,
        LAST.replace(day=1): 0,
    }
    assert PieceAccount.objects.get().actual_profit_minor == stood


def test_months_close_in_their_order(job: Job, pattern: PatternRevision, books: User):
    finished(agreed(pattern, books, title="Earlier"), books, on=BEFORE)
    assert next_to_close(on=today()) == BEFORE.replace(day=1)
    with pytest.raises(Refused, match=rf"{BEFORE:%B %Y} comes next"):
        closed(LAST)
    assert not ClosedMonth.objects.exists()
    closed(BEFORE)
    with pytest.raises(Refused, match=f"{BEFORE:%B %Y} is closed already"):
        closed(BEFORE)
    assert PieceAccount.objects.filter(frozen_at__isnull=False).count() == 1
    closed(LAST)
    assert PieceAccount.objects.filter(frozen_at__isnull=False).count() == 2
    assert next_to_close(on=today()) is None


def test_a_month_that_is_not_over_stays_open(job: Job):
    with pytest.raises(Refused, match="is not over yet"):
        closed(today())


@pytest.mark.parametrize(
    ("on", "month"),
    [(date(2026, 3, 31), None), (date(2026, 4, 1), date(2026, 3, 1)), (date(2026, 4, 30), date(2026, 3, 1))],
)
@pytest.mark.django_db
def test_a_month_can_be_closed_from_the_first_day_of_the_next(on: date, month: date | None):
    ClosedMonth.objects.create(first_day=date(2026, 2, 1), closed_at=timezone.now())
    assert next_to_close(on=on) == month


@pytest.mark.django_db
def test_books_without_a_piece_close_the_month_before():
    assert next_to_close(on=date(2026, 1, 9)) == date(2025, 12, 1)


def test_the_database_itself_refuses_to_change_a_closed_account(job: Job):
    row = closed(LAST)
    kept = PieceAccount.objects.all()
    for touch in (
        lambda: kept.update(actual_profit_minor=1),
        lambda: kept.update(frozen_at=None),
        lambda: kept.delete(),
        lambda: ClosedMonth.objects.filter(pk=row.pk).delete(),
        lambda: ClosedMonth.objects.filter(pk=row.pk).update(first_day=BEFORE),
    ):
        with pytest.raises(DatabaseError, match="closed month"), transaction.atomic():
            touch()
    kept.update(client_name="Erased client 1")


def reopened(day: date, why: str = "An invoice was forgotten") -> ReopenedMonth:
    return reopen_month(day.year, day.month, why=why, user=None)


def test_a_month_that_was_opened_again_can_be_booked_in_and_closed_once_more(job: Job, books: User):
    """2 tips at €0.11 were a correction of this month; in their piece they take €0.22 of its profit."""
    row = closed(LAST)
    stood = PieceAccount.objects.get().actual_profit_minor
    tips = Movement.objects.get(posting__job=job.reference, item__code="tip-7").lot
    spoil(job, lot=tips, quantity=2, cause="own-slip", words="", is_cut_again=True, key=uuid4(), user=books)
    opened = reopened(LAST)
    assert (opened.first_day, opened.closed_at, opened.why) == (
        row.first_day,
        row.closed_at,
        "An invoice was forgotten",
    )
    assert not ClosedMonth.objects.exists()
    assert Shelf.objects.get().closed_until is None
    kept = PieceAccount.objects.get()
    assert (kept.frozen_at, kept.actual_profit_minor) == (None, stood - 22)
    assert all(month.corrections_minor == 0 for month in months())
    cord = stocked(item("cord"), 5000, 500)
    ledger.issue(act(day=LAST), lot=cord, quantity=1, job=job.reference)
    assert closed(LAST).closed_at > row.closed_at
    assert run("audit")[1]["differences"] == []


def test_months_are_opened_again_from_the_last(job: Job, pattern: PatternRevision, books: User):
    finished(agreed(pattern, books, title="Earlier"), books, on=BEFORE)
    earlier, later = closed(BEFORE), closed(LAST)
    with pytest.raises(Refused, match=rf"from the last\. {LAST:%B %Y} comes first"):
        reopened(BEFORE)
    with pytest.raises(Refused, match="for a reason"):
        reopened(LAST, why=" ")
    with pytest.raises(Refused, match="is not closed"):
        reopened(today())
    assert set(ClosedMonth.objects.all()) == {earlier, later}
    reopened(LAST)
    assert Shelf.objects.get().closed_until == last_day(earlier.first_day)
    assert [kept.delivered_on for kept in PieceAccount.objects.filter(frozen_at=None)] == [LAST]
    with pytest.raises(Refused, match="is not closed"):
        reopened(LAST)
    reopened(BEFORE)
    assert not PieceAccount.objects.exclude(frozen_at=None).exists()
    assert run("audit")[1]["differences"] == []


def test_the_database_opens_the_last_month_only_and_only_for_a_reason(job: Job, pattern: PatternRevision, books: User):
    finished(agreed(pattern, books, title="Earlier"), books, on=BEFORE)
    earlier, later = closed(BEFORE), closed(LAST)
    for row in (earlier, later):
        with pytest.raises(DatabaseError, match="for a reason"), transaction.atomic():
            ClosedMonth.objects.filter(pk=row.pk).delete()
    said = ReopenedMonth.objects.create(
        first_day=earlier.first_day, closed_at=earlier.closed_at, reopened_at=timezone.now(), why="Whim"
    )
    with pytest.raises(DatabaseError, match="after all later ones"), transaction.atomic():
        ClosedMonth.objects.filter(pk=earlier.pk).delete()
    for touch in (lambda: ReopenedMonth.objects.update(why="Another"), lambda: said.delete()):
        with pytest.raises(DatabaseError, match="stays written"), transaction.atomic():
            touch()


def test_audit_names_what_does_not_agree_with_the_closed_months(job: Job):
    closed(LAST)
    Shelf.objects.update(closed_until=None)
    assert [row["table"] for row in run("audit")[1]["differences"]] == ["inventory_shelf"]
    ClosedMonth.objects.create(
        first_day=today().replace(day=1).replace(year=today().year + 1), closed_at=timezone.now()
    )
    assert "studio_closedmonth" in {row["table"] for row in run("audit")[1]["differences"]}


def test_no_month_is_closed_while_the_clock_stands_far_past_the_last_entry(job: Job, monkeypatch: pytest.MonkeyPatch):
    """A clock at 2099, as a machine without a battery may have it."""
    monkeypatch.setattr(timezone, "now", lambda: datetime(2099, 3, 1, 9, tzinfo=UTC))
    with pytest.raises(Refused, match=r"The clock says 1 March 2099, but the last entry of the books is of"):
        closed(LAST)
    assert not ClosedMonth.objects.exists()


def test_a_year_of_overhead_against_what_its_hours_carried(job: Job):
    """Yearly costs for so many days of the year, by hand, and the one piece's overhead from its own document."""
    found = settle(job).kept.account
    first, last = date(LAST.year, 1, 1), date(LAST.year, 12, 31)
    yearly = Decimal(sum(row.amount_minor for row in YearlyCost.objects.all())) / 100
    whole = overhead(first, last)
    assert whole is not None
    assert (whole.incurred, whole.absorbed) == (yearly, found.overhead)
    assert whole.difference == found.overhead - yearly
    days = Decimal(366 if isleap(LAST.year) else 365)
    week = overhead(LAST, LAST + timedelta(days=6))
    assert week is not None
    assert week.incurred == (yearly * 7 / days).quantize(Decimal("0.01"))


def test_losses_of_a_year_go_where_their_cause_sends_them(job: Job, books: User):
    """0.1 m of coutil at €23.80 by an own slip, 2 tips at €0.11 as always happens."""
    coutil = Movement.objects.get(posting__job=job.reference, item__code="coutil-white").lot
    tips = Movement.objects.get(posting__job=job.reference, item__code="tip-7").lot
    spoil(job, lot=coutil, quantity=100, cause="own-slip", words="", is_cut_again=True, key=uuid4(), user=books)
    ledger.scrap(act("bent"), lot=tips, quantity=2, job=job.reference)
    settle(job)
    found = overhead(LAST, LAST)
    assert found is not None
    assert (found.losses, found.usual_losses) == (Decimal("2.38"), Decimal("0.22"))


def test_without_yearly_costs_there_is_nothing_to_absorb(job: Job):
    YearlyCost.objects.all().delete()
    assert overhead(LAST, today()) is None


def test_the_guard_of_earlier_versions_is_taken_down(job: Job):
    """Books that were made before months could be opened again have one that refuses it."""
    name = "closed_month_is_not_opened"
    old = Trigger(name=name, table="studio_closedmonth", event="DELETE", when="TRUE", message="Not opened again.")
    with connection.cursor() as cursor:
        for statement in old.install_sql(connection.vendor):
            cursor.execute(statement)
    closed(LAST)
    with pytest.raises(DatabaseError, match="Not opened again"), transaction.atomic():
        reopened(LAST)
    migration = import_module("studio.migrations.0014_reopened_months")
    migration.drop_guard_that_kept_all_closed(None, connection.schema_editor())
    reopened(LAST)
