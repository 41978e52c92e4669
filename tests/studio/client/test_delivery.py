"""Delivery: what is invoiced, what is given back to the shelf, what is said before it and no longer afterwards.

Amounts are reckoned by hand from the quote's own net and a tax of 21 per cent; the rules are the product's own.
"""

from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader
from support_bench import codes, fill_shelf, line_of, operation, pay

from inventory.ground.findings import Refused
from inventory.models import Reservation
from inventory.reserving.availability import availability
from inventory.shelf.settings import close_until
from studio.bench import timing
from studio.bench.job_materials import issue_planned
from studio.bench.job_sheet import job_sheet, job_sheet_pdf
from studio.bench.ticking import tick_shell
from studio.client.change_orders import agree_change
from studio.client.delivery import Invoice, deliver, delivery_findings, expected_invoice
from studio.client.receipt import receipt, receipt_pdf
from studio.models import Job, LogHabit, PieceAccount
from studio.money.bills import bill, tax_of

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate


def quoted(job: Job, name: str) -> int:
    return int(getattr(job.option, name) * 100)


def test_the_invoice_is_what_was_quoted_and_changed_less_a_discount(job: Job, books: User):
    agree_change(job, what="Garter loops", net_minor=10_000, minutes=45, agreed_on=TODAY(), user=books)
    pay(job, 5000, books, fee_minor=115)
    pay(job, 5000, books, fee_minor=90)
    expected = expected_invoice(job, discount_minor=2_000)
    assert expected == Invoice(
        net_minor=quoted(job, "net") + 10_000 - 2_000,
        fee_minor=205,
        discount_minor=2_000,
        extras_minor=0,
    )
    assert tax_of(job, expected.net_minor) == quoted(job, "tax") + 2_100 - 420


def test_a_delivered_piece_is_dated_invoiced_and_keeps_nothing_on_the_shelf(job: Job, books: User):
    lots = fill_shelf(job)
    tips = line_of(job, "tip-7")
    issue_planned(job, tips, lot=lots["tip-7"], quantity=22, key=uuid4(), user=books)
    timer = timing.start(operation(job, "CLOSE"), user=books, key=uuid4())
    invoice = expected_invoice(job)
    deliver(job, invoice=invoice, on=TODAY(), user=books)
    job.refresh_from_db()
    timer.refresh_from_db()
    assert (job.stage, job.delivered_on, job.net_minor) == ("delivered", TODAY(), invoice.net_minor)
    assert Reservation.objects.get(reference=job.reference).state == "over"
    coutil = line_of(job, "coutil-white")
    assert availability([coutil.item_id], on=TODAY())[coutil.item_id].firm == 0
    assert timer.ended_at is not None
    assert bill(job).total_minor == invoice.net_minor + quoted(job, "tax")
    with pytest.raises(Refused, match="over already"):
        deliver(job, invoice=invoice, on=TODAY(), user=books)
    with pytest.raises(Refused, match="over"):
        tick_shell(job, shell="outer shell", number=1, user=books)


def test_delivery_works_the_account_out_and_a_correction_brings_it_along(job: Job, books: User):
    entry = timing.write_down(operation(job, "CONS"), user=books, key=uuid4(), day=TODAY(), minutes=60)
    deliver(job, invoice=expected_invoice(job), on=TODAY(), user=books, stays_undone=True)
    assert PieceAccount.objects.get(job=job).minutes == 60
    timing.correct(entry, user=books, key=uuid4(), day=TODAY(), minutes=90, why="the train was late")
    assert PieceAccount.objects.get(job=job).minutes == 90


def test_a_delivered_job_without_its_invoice_is_refused_by_the_database(job: Job):
    with pytest.raises(IntegrityError), transaction.atomic():
        Job.objects.filter(pk=job.pk).update(stage="delivered", delivered_on=TODAY())


def test_no_delivery_in_a_closed_month_to_come_or_before_the_start(job: Job, books: User):
    invoice = expected_invoice(job)
    for day in (TODAY() + timedelta(days=1), TODAY() - timedelta(days=1)):
        with pytest.raises(Refused) as caught:
            deliver(job, invoice=invoice, on=day, user=books)
        assert codes(caught) == ["delivery.day"]
    with pytest.raises(Refused) as caught:
        deliver(job, invoice=replace(invoice, fee_minor=-1), on=TODAY(), user=books)
    assert codes(caught) == ["delivery.amount"]
    close_until(TODAY())
    with pytest.raises(Refused, match="is closed"):
        deliver(job, invoice=invoice, on=TODAY(), user=books)
    job.refresh_from_db()
    assert (job.stage, job.net_minor) == ("accepted", None)


def test_what_looks_unfinished_is_said_and_does_not_hold_up(job: Job, books: User):
    timing.start(operation(job, "CLIP"), user=books, key=uuid4())
    tick_shell(job, shell="outer shell", number=1, user=books)
    found = {finding.code: finding.message for finding in delivery_findings(job)}
    assert list(found) == ["slip.second-pass", "slip.unticked", "delivery.stage", "delivery.undone", "delivery.balance"]
    assert found["delivery.undone"].startswith("Neither ticked nor logged: Consultation, measuring; ")
    deliver(job, invoice=expected_invoice(job), on=TODAY(), user=books)
    job.refresh_from_db()
    assert job.stage == "delivered"


def test_work_without_time_is_told_apart_by_how_the_workroom_logs(job: Job, books: User):
    """Short work stands with what was before it where the log says so; what nobody ticked is as was answered."""
    LogHabit.objects.create(pk=1, elsewhere_below_min=25)
    timing.write_down(operation(job, "CONS"), user=books, key=uuid4(), day=TODAY(), minutes=60)
    job.operations.filter(code__in=("INTF", "PRESS")).update(done_at=timezone.now(), done_by=books)
    deliver(job, invoice=expected_invoice(job), on=TODAY(), user=books, stays_undone=True)
    said = dict(job.operations.values_list("code", "unlogged"))
    assert [said.pop(code) for code in ("CONS", "INTF", "PRESS")] == ["", "elsewhere", "missing"]
    assert set(said.values()) == {"undone"}


def test_where_nothing_was_logged_nothing_stands_with_other_work(job: Job, books: User):
    LogHabit.objects.create(pk=1, elsewhere_below_min=25)
    deliver(job, invoice=expected_invoice(job), on=TODAY(), user=books)
    assert set(job.operations.values_list("unlogged", flat=True)) == {"missing"}


def test_the_form_asks_before_work_stays_undone(job: Job, browser: Browser):
    path = reverse("job-deliver", args=[job.pk])
    form = browser.get(path).context["form"]
    said = {name: form[name].value() for name in form.fields if name != "undone"} | {"on": TODAY().isoformat()}
    refused = browser.post(path, said)
    assert refused.status_code == 422
    assert "undone" in refused.context["form"].errors
    assert browser.post(path, {**said, "undone": "undone"}).status_code == 302
    assert set(job.operations.values_list("unlogged", flat=True)) == {"undone"}


def test_a_finished_and_paid_piece_raises_no_word(job: Job, books: User):
    now = timezone.now()
    job.operations.update(done_at=now, done_by=books)
    job.seam_passes.update(done_at=now, done_by=books)
    Job.objects.filter(pk=job.pk).update(stage="finishing")
    job.refresh_from_db()
    pay(job, bill(job).balance_minor, books)
    for row in job.operations.exclude(code="PRESS"):
        timing.write_down(row, user=books, key=uuid4(), day=TODAY(), minutes=30)
    (unlogged,) = delivery_findings(job)
    assert (unlogged.code, unlogged.message) == ("delivery.unlogged", "Done without any time logged: Press on the ham.")
    timing.write_down(operation(job, "PRESS"), user=books, key=uuid4(), day=TODAY(), minutes=30)
    assert delivery_findings(job) == []


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)


def test_the_sheet_has_every_piece_every_operation_and_a_box_for_every_pass(job: Job):
    sheet = job_sheet(job, on=TODAY())
    labels = [piece.split()[0] for _, pieces in sheet.pieces for piece in pieces]
    assert sorted(labels) == sorted(f"{panel}{copy}" for panel in range(1, 7) for copy in "ABCD")
    assert len(sheet.operations) == job.operations.count()
    assert sum(len(boxes) for table in sheet.seams for _, boxes in table.rows) == 40
    assert sum(bone.count for bone in sheet.bones) == 16
    assert "Back: 24 grommets, 12 a side" in sheet.closures
    text = text_of(job_sheet_pdf(sheet))
    for words in ("Q1: Underbust", "outer shell", "Waist tape", "rated eye protection", "6D left"):
        assert words in text


def test_what_people_wrote_is_set_as_text_and_never_as_markup(job: Job):
    job.client.name = '#panic("x") *bold* $x^2$ <img>'
    assert '#panic("x") *bold* $x^2$ <img>' in text_of(job_sheet_pdf(job_sheet(job, on=TODAY())))


def test_a_ticked_pass_is_crossed_on_the_sheet(job: Job, books: User):
    tick_shell(job, shell="outer shell", number=1, user=books)
    outer = job_sheet(job, on=TODAY()).seams[0]
    assert [boxes for _, boxes in outer.rows] == [[True, False, True, False]] * 5


def test_a_receipt_says_who_paid_what_for_which_piece(job: Job, books: User):
    text = text_of(receipt_pdf(receipt(pay(job, 61_750, books, note="by card"))))
    for words in ("Receipt 1", "Received from Odile Farrant", "€617.50", "Deposit for Underbust", "by card"):
        assert words in text
    back = text_of(receipt_pdf(receipt(pay(job, 1_000, books, what="refund"))))
    assert "Paid back to Odile Farrant" in back
    assert "€10.00" in back


def test_a_receipt_speaks_the_clients_language(job: Job, books: User):
    job.client.language = "de"
    job.client.save()
    text = text_of(receipt_pdf(receipt(pay(job, 61_750, books))))
    assert "Quittung" in text
    assert "Dankend erhalten von" in text
    assert "617,50" in text
    assert "Receipt" not in text
