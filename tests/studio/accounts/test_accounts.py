"""What a delivered piece earned, gathered from ledger, time and invoice.

Outside: Horngren, Datar and Rajan, Cost Accounting, ch. 7 (the variances between a budget and what happened add up to
their difference); every other figure is added up anew from the rows of ledger and time (common practice, no source).
"""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db.models import Sum
from support_books import agreed, finished, operation, today, worked
from support_shelf import stocked

from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import Refused
from inventory.models import Movement, Posting, Shelf, StockItem
from inventory.stock import ledger
from inventory.stock.ledger import Act
from inventory.stock.price_list import item_of
from quotes.models import PatternRevision
from quotes.workroom.settings import save_rates, workroom
from studio.accounts.accounting import is_out_of_date, settle, settle_again
from studio.bench.job_making import make_job
from studio.bench.job_materials import spoil
from studio.bench.timing import correct
from studio.books.sums import accounts, pieces_of
from studio.client.change_orders import agree_change
from studio.client.delivery import deliver, expected_invoice
from studio.models import Job, JobOperation, PieceAccount, TimeEntry
from studio.profit.kept_account import KEPT_ACCOUNT
from studio.profit.piece import Account
from studio.profit.reasons import reason_of
from studio.profit.sentence import sentence
from studio.profit.totals import best_and_worst

D = Decimal


@pytest.fixture
def job(pattern: PatternRevision, books: User) -> Job:
    """A piece that was made in a tenth more time than planned, delivered today."""
    return finished(agreed(pattern, books), books, on=today(), speed=1.1)


def lines(found: Account) -> dict[str, Decimal]:
    return {line.code: line.amount for line in found.bridge}


def adds_up(kept: PieceAccount) -> None:
    """What every kept account must hold to, read from its document and its columns."""
    found = kept.kept.account
    assert found.quoted_profit + sum(line.amount for line in found.bridge) == found.profit
    assert found.net - found.fee - found.cost == found.profit
    minor = found.currency.to_minor
    assert (kept.net_minor, kept.quoted_profit_minor) == (minor(found.net), minor(found.quoted_profit))
    assert (kept.actual_profit_minor, kept.overhead_minor) == (minor(found.profit), minor(found.overhead))
    assert kept.minutes == round(found.hours * 60)


def test_a_piece_made_as_planned_adds_up_and_agrees_with_its_own_rows(job: Job):
    kept = settle(job)
    adds_up(kept)
    found = kept.kept.account
    option = job.option
    issued = Movement.objects.filter(posting__job=job.reference).aggregate(total=Sum("value_minor"))["total"]
    sundries = next(line.amount for line in option.lines if line.code == "sundries")
    assert found.materials == D(-issued) / 100 + sundries
    minutes = TimeEntry.objects.filter(operation__job=job).aggregate(total=Sum("minutes"))["total"]
    assert round(found.hours * 60) == minutes
    rates = job.revision.snapshot.rates
    assert found.labour == found.currency.round(D(minutes) / 60 * rates.labour_per_hour)
    assert found.overhead == found.currency.round(D(minutes) / 60 * rates.overhead_per_hour)
    assert (found.net, found.quoted_profit) == (option.net, option.profit)
    assert (kept.style, kept.construction, kept.client_name) == (job.style, job.construction, "Odile Farrant")


def test_what_is_kept_is_read_back_as_it_was(job: Job):
    kept = settle(job)
    kept.refresh_from_db()
    quoted, found = kept.kept.quoted, kept.kept.account
    assert KEPT_ACCOUNT.written(kept.kept) == kept.document
    assert quoted.profit == found.quoted_profit
    assert found.per_hour is not None


def test_once_more_changes_nothing_and_makes_no_second_row(job: Job):
    first = settle(job)
    again = settle(job)
    assert (first.pk, first.document) == (again.pk, again.document)
    assert PieceAccount.objects.count() == 1


def test_more_and_less_of_a_material_stand_in_the_bridge_at_what_the_ledger_says(job: Job, books: User):
    """0.1 m of cord more, at the ledger's €1.15 a metre, and 2 of the 22 tips back, at €0.11."""
    cord = Movement.objects.get(posting__job=job.reference, item__code="cord-flat-6").lot
    tips = Movement.objects.get(posting__job=job.reference, item__code="tip-7").lot
    before = lines(settle(job).kept.account)
    ledger.issue(Act(key=uuid4(), by=books), lot=cord, quantity=100, job=job.reference)
    ledger.give_back(Act(key=uuid4(), by=books), lot=tips, quantity=2, job=job.reference)
    kept = settle(job)
    adds_up(kept)
    found = lines(kept.kept.account)
    assert found["material.tip-7.quantity"] - before.get("material.tip-7.quantity", 0) == D("0.22")
    # 5.6 m at 1.15 are 6.44, and 6.33 were quoted.
    assert found["material.cord-flat-6.quantity"] == D("-0.11")
    assert {"tip-7": D(20), "cord-flat-6": D("5.6")}.items() <= {
        row.code: row.quantity for row in kept.kept.actual.materials
    }.items()


@pytest.mark.parametrize(
    ("cause", "borne_by"), [("own-slip", "period"), ("cloth-fault", "period"), ("client", "piece"), ("fit", "piece")]
)
def test_spoilage_stands_under_its_cause(pattern: PatternRevision, books: User, cause: str, borne_by: str):
    job = finished(agreed(pattern, books), books, on=today())
    lot = Movement.objects.get(posting__job=job.reference, item__code="coutil-white").lot
    spoil(job, lot=lot, quantity=100, cause=cause, words="panel 3", is_cut_again=True, key=uuid4(), user=books)
    kept = settle(job)
    adds_up(kept)
    found = kept.kept.account
    # 0.1 m at €23.80.
    assert lines(found)[f"spoiled.{cause}"] == D("-2.38")
    assert [(row.cause, row.bearer, row.materials) for row in found.cause_costs] == [(cause, borne_by, D("2.38"))]


def test_what_was_spoiled_and_not_cut_again_is_no_longer_in_the_piece(job: Job, books: User):
    before = settle(job).kept.account
    lot = Movement.objects.get(posting__job=job.reference, item__code="coutil-white").lot
    facts = {"quantity": 100, "cause": "own-slip", "words": "", "is_cut_again": False}
    spoil(job, lot=lot, key=uuid4(), user=books, **facts)
    found = settle(job).kept.account
    assert (found.materials, found.spoiled) == (before.materials - D("2.38"), D("2.38"))
    assert found.profit == before.profit


def test_scrap_that_tells_no_cause_of_ours_is_the_usual_loss(job: Job, books: User):
    lot = Movement.objects.get(posting__job=job.reference, item__code="tip-7").lot
    ledger.scrap(Act(key=uuid4(), by=books, why="lost: under the table"), lot=lot, quantity=2, job=job.reference)
    assert lines(settle(job).kept.account)["spoiled.normal"] == D("-0.22")


def test_work_done_again_stands_by_cause_and_not_under_its_operation(pattern: PatternRevision, books: User):
    """30 minutes at €24.00 are €12.00."""
    revision = agreed(pattern, books)
    job = make_job(revision, user=books, on=today())
    worked(operation(job, "BUSK"), books, 63, on=today())
    worked(operation(job, "BUSK"), books, 30, on=today(), cause="own-slip")
    worked(operation(job, "FIT"), books, 15, on=today(), cause="fit")
    deliver(job, invoice=expected_invoice(job), on=today(), user=books)
    kept = settle(job)
    adds_up(kept)
    found, actual = kept.kept.account, kept.kept.actual
    assert (lines(found)["rework.own-slip"], lines(found)["rework.fit"]) == (D("-12.00"), D("-6.00"))
    assert [(row.code, round(row.hours * 60)) for row in actual.hours if not row.unlogged] == [("BUSK", 63)]
    assert round(found.rework_hours * 60) == 45


def test_a_correction_counts_instead_of_what_it_replaces(job: Job, books: User):
    entry = TimeEntry.objects.get(operation=operation(job, "CUT"))
    before = settle(job).kept.account
    assert entry.minutes is not None
    correct(entry, user=books, key=uuid4(), day=entry.day, minutes=entry.minutes + 60, why="The timer was forgotten")
    assert settle(job).minutes == round(before.hours * 60) + 60


def test_changes_discount_and_fees_stand_in_their_own_lines(pattern: PatternRevision, books: User):
    job = make_job(agreed(pattern, books), user=books, on=today())
    agree_change(job, what="Garter loops", net_minor=4000, minutes=60, agreed_on=today(), user=books)
    invoice = expected_invoice(job, discount_minor=1500)
    deliver(job, invoice=invoice, on=today(), user=books)
    kept = settle(job)
    adds_up(kept)
    found = kept.kept.account
    amounts = lines(found)
    assert (amounts["change.1"], amounts["discount"]) == (D("40.00"), D("-15.00"))
    assert "invoice" not in amounts
    assert found.net == job.option.net + 25
    # No payment was noted, so none took a fee.
    assert amounts["fee"] == job.option.fee


def test_an_extra_that_was_not_quoted_comes_on_top(pattern: PatternRevision, books: User):
    job = finished(agreed(pattern, books), books, on=today(), extras_minor=1250)
    kept = settle(job)
    adds_up(kept)
    assert lines(kept.kept.account)["extra.1"] == D("-12.50")


def test_a_piece_of_which_nothing_was_done_has_no_earned_hour_and_is_under_no_floor(
    pattern: PatternRevision, books: User
):
    job = finished(agreed(pattern, books), books, on=today(), speed=0)
    job.operations.update(unlogged="undone")
    kept = settle(job)
    adds_up(kept)
    assert (kept.minutes, kept.per_hour_minor, kept.is_under_floor, kept.is_unsure) == (0, 0, False, False)
    assert kept.kept.account.per_hour is None


def test_time_that_nobody_logged_counts_as_quoted_and_the_piece_is_unsure(pattern: PatternRevision, books: User):
    """Nothing of it logged: all hours as quoted, so that no step of the bridge speaks of work."""
    kept = settle(finished(agreed(pattern, books), books, on=today(), speed=0))
    adds_up(kept)
    found = kept.kept.account
    assert found.hours == found.missing_hours == found.quoted_hours > 20
    assert kept.is_unsure
    assert [line for line in found.bridge if line.group == "labour" and abs(line.amount) > D("0.01")] == []
    assert sentence(found).endswith("of it were not logged and count as planned.")
    # What nobody logged is not held against it by the hour either, however much the workroom asks for.
    save_rates(room := workroom(), {**room.rates, "minimum_per_hour": "900.00"})
    assert not settle(kept.job).is_under_floor
    piece, sure = (replace(row, is_unsure=unsure) for row in pieces_of(accounts()) for unsure in (True, False))
    assert (best_and_worst([piece]), best_and_worst([sure])) == (([], []), ([sure], [sure]))


def test_a_few_minutes_are_no_doubt_and_other_works_time_counts_once(pattern: PatternRevision, books: User):
    job = finished(agreed(pattern, books), books, on=today())
    whole = settle(job).kept.account
    lost = operation(job, "INTF")  # under 20 minutes
    entry = TimeEntry.objects.get(operation=lost)
    correct(entry, user=books, key=uuid4(), day=entry.day, minutes=0, why="Another piece’s")
    found = settle(job)
    assert (found.is_unsure, round(found.kept.account.missing_hours * 60)) == (False, round(lost.planned_min))
    assert abs(found.kept.account.profit - whole.profit) < 1
    job.operations.filter(pk=lost.pk).update(unlogged="elsewhere")
    with_others = settle(job).kept
    assert with_others.account.missing_hours == 0
    assert with_others.account.hours < whole.hours
    (line,) = (line for line in with_others.account.bridge if line.subject == "INTF")
    assert line.what == "The time of strips at centre front and back stands with other work"
    assert dict(reason_of(line, with_others.quoted, with_others.actual, with_others.account))["Worked"].startswith(
        "Done without time of its own"
    )


def test_the_wage_floor_is_the_workrooms(job: Job):
    kept = settle(job)
    per_hour = D(kept.per_hour_minor) / 100
    for floor, is_under in ((per_hour - 1, False), (per_hour + 1, True)):
        save_rates(room := workroom(), {**room.rates, "minimum_per_hour": f"{floor}"})
        assert settle(job).is_under_floor is is_under


def test_what_is_not_delivered_is_refused(pattern: PatternRevision, books: User):
    job = make_job(agreed(pattern, books), user=books, on=today())
    with pytest.raises(Refused, match="once it is delivered"):
        settle(job)
    assert not PieceAccount.objects.exists()


def test_two_currencies_are_refused(job: Job):
    Shelf.objects.update(currency="GBP")
    with pytest.raises(Refused, match="quoted in EUR, and the shelf is kept in GBP"):
        settle(job)


def test_an_account_tells_that_its_piece_has_changed_since(job: Job, books: User):
    kept = settle(job)
    kept.refresh_from_db()
    assert not is_out_of_date(kept)
    lot = Movement.objects.filter(posting__job=job.reference, posting__kind=Posting.Kind.ISSUE)[0].lot
    ledger.give_back(Act(key=uuid4(), by=books), lot=lot, quantity=1, job=job.reference)
    assert is_out_of_date(kept)
    settle_again(job)
    kept.refresh_from_db()
    assert not is_out_of_date(kept)


def test_settling_again_makes_no_account_where_none_stands(pattern: PatternRevision, books: User):
    job = make_job(agreed(pattern, books), user=books, on=today() - timedelta(days=1))
    settle_again(job)
    assert JobOperation.objects.filter(job=job).exists()
    assert not PieceAccount.objects.exists()


def test_ready_bones_count_by_the_piece_beside_their_coil(pattern: PatternRevision, books: User):
    job = make_job(agreed(pattern, books), user=books, on=today())
    coil = StockItem.objects.get(material__code="spiral-7-coil", form="")
    ready = item_of(coil.material, 2350, BoneForm.TIPPED)
    ledger.issue(Act(key=uuid4(), by=books), lot=stocked(ready, 6, 540), quantity=2, job=job.reference)
    ledger.issue(Act(key=uuid4(), by=books), lot=stocked(coil, 5000, 1550), quantity=1000, job=job.reference)
    deliver(job, invoice=expected_invoice(job), on=today(), user=books)
    kept = PieceAccount.objects.get().kept
    rows = [row for row in kept.actual.materials if row.code == "spiral-7-coil"]
    assert [(row.quantity, row.unit, row.value) for row in rows] == [
        (D("1"), "m", D("3.10")),
        (D("2"), "each", D("1.80")),
    ]
    assert lines(kept.account)["material.spiral-7-coil.each.unquoted"] == D("-1.80")
    adds_up(PieceAccount.objects.get())
