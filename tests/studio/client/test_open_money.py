"""Open money: what is due, held, credited and reversed says the same wherever it is asked.

Amounts are reckoned by hand; the identities are those of any open-item account: due = invoiced − credited − (paid − refunded).
"""

import csv
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from io import BytesIO, StringIO
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import DatabaseError, transaction
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader
from support_bench import codes, delivered_copy, pay

from inventory.ground.findings import Refused
from inventory.shelf.settings import close_until
from inventory.stock.audit import audit
from studio.books.months import close_month, months
from studio.client.change_orders import agree_change
from studio.client.credits import give_credit, take_credit_back
from studio.client.delivery import deliver, expected_invoice
from studio.client.payments import reverse_payment, take_payment
from studio.client.receipt import receipt, receipt_pdf
from studio.models import ChangeOrder, Credit, Job, Payment, PieceAccount
from studio.money.bills import agreed, bill, standing, tax_of
from studio.profit.piece import StepGroup

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate


def delivered(job: Job, user: User) -> Job:
    deliver(job, invoice=expected_invoice(job), on=TODAY(), user=user)
    job.refresh_from_db()
    return job


def credited(job: Job, minor: int, user: User, **said: Any) -> Credit:
    """A lower price of today, with its tax in it."""
    facts = {"why": "late by a week", "day": TODAY(), "pays_back": False, "key": uuid4(), **said}
    return give_credit(job, amount_minor=minor, user=user, **facts)


def price(job: Job) -> int:
    return (job.net_minor or 0) + (job.tax_minor or 0)


def test_a_balance_due_stays_on_today_and_on_the_clients_pages_until_it_is_paid(
    job: Job, browser: Browser, books: User
):
    day = TODAY() - timedelta(days=12)
    Job.objects.filter(pk=job.pk).update(started_on=day)
    job.refresh_from_db()
    deliver(job, invoice=expected_invoice(job), on=day, user=books)
    pages = ("/", reverse("job-client", args=[job.pk]), reverse("quotes:client", args=[job.client_id]), "/books/money/")
    for path in pages:
        said = browser.get(path).content.decode()
        assert "o collect" in said, path
        assert "12 days" in said, path
    job.refresh_from_db()
    pay(job, price(job), books, what="balance")
    for path in pages[:3]:
        assert "o collect" not in browser.get(path).content.decode(), path
    assert "Nothing is to be collected" in browser.get("/books/money/").content.decode()


def test_what_is_paid_ahead_is_held_until_the_delivery_and_kept_where_the_work_is_cancelled(
    job: Job, browser: Browser, books: User
):
    pay(job, 30_000, books)
    assert (standing(job).held_minor, standing(job).due_minor) == (30_000, 0)
    delivered(job, books)
    assert (standing(job).held_minor, standing(job).due_minor) == (0, price(job) - 30_000)
    Job.objects.filter(pk=job.pk).update(stage="cancelled", cancelled_on=TODAY(), delivered_on=None)
    stands = standing(job)
    assert (stands.held_minor, stands.due_minor, stands.kept_of_cancelled_minor) == (0, 0, 30_000)
    money = browser.get("/books/money/").content.decode()
    assert "Nothing is held." in money
    assert "Kept of cancelled pieces" in money
    assert "kept of cancelled work" in browser.get(reverse("quotes:client", args=[job.client_id])).content.decode()
    assert audit().differences == ()


def test_a_credit_lowers_price_tax_and_profit_and_opens_no_debt(job: Job, books: User):
    pay(job, sum(agreed(job)), books)
    delivered(job, books)
    before = PieceAccount.objects.get(job=job)
    lower = credited(job, 12_100, books, pays_back=True)
    # The example says its prices with tax: 121.00 are 100.00 and 21 per cent.
    assert (lower.net_minor, lower.tax_minor) == (10_000, 2_100)
    stands = standing(job)
    assert (stands.due_minor, stands.too_much_minor, stands.refunded_minor) == (0, 0, 12_100)
    after = PieceAccount.objects.get(job=job)
    assert after.net_minor == before.net_minor - 10_000
    assert after.actual_profit_minor == before.actual_profit_minor - 10_000
    (step,) = [line for line in after.kept.account.bridge if line.group is StepGroup.CREDIT]
    assert (step.amount, step.what) == (Decimal("-100.00"), "The price was lowered: late by a week")
    account = after.kept.account
    assert account.quoted_profit + sum(line.amount for line in account.bridge) == account.profit


def test_a_credit_takes_from_what_is_due_first(job: Job, books: User):
    delivered(job, books)
    credited(job, 12_100, books, pays_back=True)
    assert standing(job).due_minor == price(job) - 12_100
    assert not Payment.objects.exists()


def test_all_of_the_price_can_be_let_go_without_a_rest(job: Job, books: User):
    delivered(job, books)
    credited(job, 3_333, books)
    credited(job, standing(job).price_minor, books)
    stands = standing(job)
    assert (stands.net_minor, stands.tax_minor, stands.due_minor) == (0, 0, 0)
    with pytest.raises(Refused, match=r"€0\.00 is left of the price"):
        credited(job, 1, books)


def test_money_back_without_a_lower_price_makes_it_due_again(job: Job, browser: Browser, books: User):
    pay(job, sum(agreed(job)), books)
    delivered(job, books)
    path = reverse("payment-new", args=[job.pk])
    said = {"key": str(uuid4()), "what": "refund", "amount": "10", "day": TODAY().isoformat()}
    asked = browser.post(path, said)
    assert asked.status_code == 422
    assert "note a lower price instead" in asked.content.decode()
    assert not Payment.objects.filter(what="refund").exists()
    assert browser.post(path, {**said, "sure_of": token(asked)}).status_code == 302
    assert standing(job).due_minor == 1_000


def token(answer: Any) -> str:
    """The yes to what was asked."""
    return str(answer.context["form"].fields["sure_of"].widget.attrs["value"])


def test_a_slip_is_reversed_by_another_row_once_and_the_months_are_right_again(job: Job, browser: Browser, books: User):
    day = TODAY() - timedelta(days=3)
    slip = pay(job, 9_000, books, fee_minor=90, day=day)
    path = reverse("payment-reverse", args=[slip.number])
    assert browser.post(path, {"why": ""}).status_code == 422
    for _ in range(2):
        assert browser.post(path, {"why": "another client's"}).status_code == 302
    reversal = Payment.objects.get(reverses=slip)
    assert (reversal.amount_minor, reversal.fee_minor, reversal.day, reversal.what) == (-9_000, -90, day, "deposit")
    stands = standing(job)
    assert (stands.paid_minor, stands.refunded_minor) == (0, 0)
    said = browser.get(reverse("job-client", args=[job.pk])).content.decode()
    assert "another client" in said
    assert "Reverses receipt 1" in said
    assert "reversed by receipt 2" in said
    with pytest.raises(Refused, match="reverses another row itself"):
        reverse_payment(reversal, why="x", user=books)
    with pytest.raises(DatabaseError), transaction.atomic():
        Payment.objects.filter(pk=slip.pk).update(amount_minor=1)


def test_a_reversal_is_no_receipt_of_money(job: Job, books: User):
    slip = pay(job, 9_000, books)
    reversal = reverse_payment(slip, why="another client's", user=books)
    slip.refresh_from_db()
    said = [PdfReader(BytesIO(receipt_pdf(receipt(row)))).pages[0].extract_text() for row in (slip, reversal)]
    assert "Reversed by receipt 2" in said[0]
    assert "takes back receipt 1" in said[1]
    assert "Paid back" not in said[1]


def test_a_credit_after_its_month_was_closed_counts_in_its_own(job: Job, browser: Browser, books: User):
    last = TODAY().replace(day=1) - timedelta(days=1)
    Job.objects.filter(pk=job.pk).update(started_on=last)
    job.refresh_from_db()
    deliver(job, invoice=expected_invoice(job), on=last, user=books)
    close_month(last.year, last.month, user=books)
    stood = PieceAccount.objects.get(job=job)
    credited(job, 12_100, books)
    after = PieceAccount.objects.get(job=job)
    assert (after.document, after.net_minor) == (stood.document, stood.net_minor)
    by_month = {month.first_day: month.corrections_minor for month in months()}
    assert by_month == {last.replace(day=1): 0, TODAY().replace(day=1): -10_000}
    said = browser.get(reverse("account", args=[job.reference])).content.decode()
    assert f"that counts in {TODAY():%B %Y}, under corrections" in said
    assert audit().differences == ()


def test_a_slip_of_a_closed_month_is_reversed_today(job: Job, books: User):
    slip = pay(job, 9_000, books, day=TODAY() - timedelta(days=40))
    close_until(TODAY() - timedelta(days=35))
    assert reverse_payment(slip, why="x", user=books).day == TODAY()


def test_what_went_back_since_is_reversed_first(job: Job, books: User):
    came = pay(job, 9_000, books)
    back = pay(job, 4_000, books, what="refund")
    with pytest.raises(Refused, match=r"Only €50\.00 of what came is still here") as caught:
        reverse_payment(came, why="x", user=books)
    assert codes(caught) == ["payment.went-back"]
    reverse_payment(back, why="x", user=books)
    reverse_payment(came, why="x", user=books)
    assert standing(job).kept_minor == 0


def test_a_lower_price_that_was_a_slip_is_taken_back(job: Job, browser: Browser, books: User):
    delivered(job, books)
    profit = PieceAccount.objects.get(job=job).actual_profit_minor
    lower = credited(job, 10_000, books)
    path = reverse("credit-take-back", args=[lower.pk])
    for _ in range(2):
        assert browser.post(path, {"why": "wrong piece"}).status_code == 302
    assert Credit.objects.count() == 2
    assert standing(job).due_minor == price(job)
    assert PieceAccount.objects.get(job=job).actual_profit_minor == profit
    assert "taken back" in browser.get(reverse("job-client", args=[job.pk])).content.decode()
    with pytest.raises(Refused):
        take_credit_back(Credit.objects.get(reverses=lower), why="x", user=books)


def test_no_lower_price_before_the_delivery_or_its_day_or_twice_by_one_form(job: Job, books: User):
    with pytest.raises(Refused, match="not delivered"):
        credited(job, 100, books)
    delivered(job, books)
    for said, code in (
        ({"day": TODAY() + timedelta(days=1)}, "credit.day"),
        ({"day": TODAY() - timedelta(days=1)}, "credit.day"),
        ({"why": ""}, "credit.no-reason"),
    ):
        with pytest.raises(Refused) as caught:
            credited(job, 100, books, **said)
        assert codes(caught) == [code]
    key = uuid4()
    assert credited(job, 100, books, key=key) == credited(job, 100, books, key=key)
    with pytest.raises(Refused, match="other figures"):
        credited(job, 200, books, key=key)
    assert Credit.objects.count() == 1


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"amount": "99999"}, "its whole bill is"),
        ({"what": "refund", "amount": "600"}, "cannot go back"),
        ({"amount": "5", "fee": "6"}, "more than the €5.00"),
        ({"amount": "0"}, "Nothing would be paid"),
    ],
)
def test_what_cannot_be_is_refused_with_one_sentence(
    job: Job, browser: Browser, books: User, said: dict[str, str], words: str
):
    facts = {"key": str(uuid4()), "what": "deposit", "day": TODAY().isoformat(), "fee": "", **said}
    answer = browser.post(reverse("payment-new", args=[job.pk]), facts)
    assert answer.status_code == 422
    assert [words in error for error in errors(answer)] == [True]
    assert not Payment.objects.exists()


def errors(answer: Any) -> list[str]:
    return [str(error) for found in answer.context["form"].errors.values() for error in found]


def test_a_bill_never_falls_below_nothing(job: Job, browser: Browser, books: User):
    said = {"what": "No lining", "sense": "less", "net": "99999", "minutes": "", "agreed_on": TODAY().isoformat()}
    answer = browser.post(reverse("change-new", args=[job.pk]), said)
    assert answer.status_code == 422
    assert "is less than nothing" in errors(answer)[0]
    assert not ChangeOrder.objects.exists()


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"amount": "2000", "what": "balance"}, "is more than the"),
        ({"amount": "50"}, "is noted already: Receipt 1"),
        ({"amount": "70", "day": "long ago"}, "is long ago"),
        ({"amount": "70", "fee": "9"}, "is much for a payment"),
    ],
)
def test_what_is_unlikely_is_asked_and_a_yes_answers_that_question_alone(
    job: Job, browser: Browser, books: User, said: dict[str, str], words: str
):
    pay(job, 5_000, books)
    path = reverse("payment-new", args=[job.pk])
    whole = Decimal(bill(job).agreed_minor) / 100
    facts = {"key": str(uuid4()), "what": "deposit", "day": TODAY().isoformat(), "fee": "", **said}
    if "day" in said:
        facts["day"] = (TODAY() - timedelta(days=90)).isoformat()
    if said["amount"] == "2000":
        facts["amount"] = f"{whole + 1:.2f}"
    asked = browser.post(path, facts)
    assert asked.status_code == 422
    assert words in errors(asked)[0]
    assert "Yes, it is right" in asked.content.decode()
    assert Payment.objects.count() == 1
    other = {**facts, "sure_of": "no such question"}
    assert browser.post(path, other).status_code == 422
    yes = {**facts, "sure_of": token(asked)}
    assert [browser.post(path, yes).status_code for _ in range(2)] == [302, 302]
    assert Payment.objects.count() == 2


def test_an_old_form_with_other_figures_is_no_second_click(job: Job, browser: Browser):
    path, key = reverse("payment-new", args=[job.pk]), str(uuid4())
    facts = {"key": key, "what": "deposit", "amount": "50", "day": TODAY().isoformat()}
    assert browser.post(path, facts).status_code == 302
    again = browser.post(path, {**facts, "amount": "60"})
    assert again.status_code == 422
    assert "sent before with other figures: Receipt 1 is noted" in errors(again)[0]
    assert Payment.objects.get().amount_minor == 5_000


def test_two_windows_note_two_payments_only_with_a_yes(job: Job, browser: Browser):
    path = reverse("payment-new", args=[job.pk])
    facts = [
        {"key": str(uuid4()), "what": "deposit", "amount": "50", "day": TODAY().isoformat()} for _window in range(2)
    ]
    assert [browser.post(path, said).status_code for said in facts] == [302, 422]


WRITTEN = ["", "-5", "0", "1.00005", "1000000000000", "€5", "1.250,00", "1,250.00", "5e3", "NaN", "many"]


@pytest.mark.parametrize("written", WRITTEN)
@pytest.mark.parametrize("name", ["payment-new", "credit-new", "change-new", "job-deliver"])
def test_amounts_as_people_slip_are_answered_in_one_sentence_and_save_nothing(
    job: Job, browser: Browser, books: User, name: str, written: str
):
    if name == "credit-new":
        delivered(job, books)
    day = TODAY().isoformat()
    said = {
        "payment-new": {"key": str(uuid4()), "what": "deposit", "day": day, "amount": written},
        "credit-new": {"key": str(uuid4()), "why": "late", "day": day, "amount": written},
        "change-new": {"what": "Lining", "sense": "more", "agreed_on": day, "net": written},
        "job-deliver": {"on": day, "discount": "0", "fee": "0", "extras": "0", "net": written, "undone": "done"},
    }[name]
    before = Job.objects.values().get(pk=job.pk)
    answer = browser.post(reverse(name, args=[job.pk]), said)
    if name == "change-new" and written == "0":
        assert answer.status_code == 302  # a change that costs nothing is noted
        return
    assert answer.status_code == 422
    assert len(errors(answer)) == 1
    assert not any(model.objects.exists() for model in (Payment, Credit, ChangeOrder))
    assert Job.objects.values().get(pk=job.pk) == before


def test_the_tax_of_an_invoice_follows_and_is_typed_nowhere(job: Job, browser: Browser):
    path = reverse("job-deliver", args=[job.pk])
    said = {
        "on": TODAY().isoformat(),
        "discount": "0",
        "fee": "0",
        "extras": "0",
        "net": "100",
        "tax": "0.01",
        "undone": "done",
    }
    assert "tax" not in browser.get(path).context["form"].fields
    asked = browser.post(path, said)
    assert "is less than the" in errors(asked)[0]
    assert browser.post(path, {**said, "sure_of": token(asked)}).status_code == 302
    job.refresh_from_db()
    assert job.net_minor == 10_000
    assert job.tax_minor == tax_of(job, 10_000)
    assert abs((job.tax_minor or 0) - 2_100) <= 1  # the quote rounded its own tax once


@pytest.mark.parametrize("key", ["due", "held", "too-much", "kept", "months"])
def test_every_list_of_open_money_can_be_taken_away(job: Job, browser: Browser, books: User, key: str):
    pay(job, 20_000, books, fee_minor=100)
    due = delivered_copy(job, days_ago=9)
    over = delivered_copy(job, days_ago=4)
    pay(over, 45_000, books)
    given_up = delivered_copy(job, days_ago=2)
    pay(given_up, 7_000, books)
    Job.objects.filter(pk=given_up.pk).update(stage="cancelled", cancelled_on=TODAY(), delivered_on=None)
    answer = browser.get("/books/money/", {"list": key, "export": "csv"})
    header, *rows = csv.reader(StringIO(answer.content.decode("utf-8-sig")))
    last = {row[header.index("Piece" if key != "months" else "Month")]: row for row in rows}
    assert len(last) == 1
    expected = {
        "due": ("Due", "400.00"),
        "held": ("Held", "200.00"),
        "too-much": ("Too much", "50.00"),
        "kept": ("Kept", "70.00"),
        "months": ("Came in", "720.00"),
    }[key]
    assert rows[0][header.index(expected[0])] == expected[1]
    assert browser.get("/books/money/", {"list": key, "export": "xlsx"}).content.startswith(b"PK")
    shown = browser.get("/books/money/").content.decode()
    assert all(words in shown for words in ("€400.00", "€200.00", "€50.00", "€70.00", "€720.00", due.reference))
    listed = browser.get("/books/money/payments/", {"word": "Odile", "export": "csv"}).content.decode("utf-8-sig")
    assert "200.00" in listed


def test_a_list_that_is_not_there_is_answered_with_what_is_due(browser: Browser, books: User):
    for kind in ("csv", "xlsx"):
        answer = browser.get("/books/money/", {"list": "a/b\n[", "export": kind})
        assert answer.status_code == 200
        assert "money-due-" in answer["Content-Disposition"]


def test_a_reversal_takes_no_fee_off_a_piece_that_bore_none(job: Job, books: User):
    """The fee was said to be nothing on delivery; a fee below zero would be profit out of nothing."""
    slip = pay(job, 20_000, books, fee_minor=250)
    deliver(job, invoice=replace(expected_invoice(job), fee_minor=0), on=TODAY(), user=books)
    before = PieceAccount.objects.get(job=job).actual_profit_minor
    reverse_payment(slip, why="another’s", user=books)
    job.refresh_from_db()
    assert job.fee_minor == 0
    assert PieceAccount.objects.get(job=job).actual_profit_minor == before


def test_taking_a_lower_price_back_says_what_is_due_again(job: Job, browser: Browser, books: User):
    pay(job, sum(agreed(job)), books)
    delivered(job, books)
    lower = credited(job, 2_000, books, pays_back=True)
    answer = browser.post(reverse("credit-take-back", args=[lower.pk]), {"why": "another’s"}, follow=True)
    assert "€20.00 is to be collected." in answer.content.decode()


def test_what_costs_more_is_agreed_even_where_earlier_changes_left_less_than_nothing(job: Job, books: User):
    """Before changes were held to the price, they could take it below nothing."""
    net, _ = agreed(job)
    facts = {"minutes": 0, "agreed_on": TODAY(), "user": books}
    ChangeOrder.objects.create(job=job, what="less", net_minor=-net - 500, minutes=0, agreed_on=TODAY(), by=books)
    agree_change(job, what="more", net_minor=100, **facts)
    with pytest.raises(Refused, match="less than nothing"):
        agree_change(job, what="still less", net_minor=-100, **facts)


def test_a_payment_of_no_key_or_a_mangled_one_is_asked_for_again(job: Job, browser: Browser):
    facts = {"what": "deposit", "amount": "50", "day": TODAY().isoformat()}
    for key in ({}, {"key": "x"}):
        assert browser.post(reverse("payment-new", args=[job.pk]), {**facts, **key}).status_code == 422
    assert not Payment.objects.exists()


def test_the_audit_finds_a_reversal_that_is_no_opposite(job: Job, books: User):
    slip = pay(job, 9_000, books)
    assert audit().differences == ()
    Payment.objects.create(
        job=job, number=2, what="deposit", amount_minor=-8_000, day=TODAY(), key=uuid4(), reverses=slip, note="x"
    )
    assert [difference.table for difference in audit().differences] == ["studio_payment"]


def test_a_program_is_not_asked(job: Job, books: User):
    facts = {"what": "deposit", "fee_minor": 0, "day": TODAY(), "note": ""}
    for _ in range(2):
        take_payment(job, amount_minor=100, key=uuid4(), user=books, **facts)
    agree_change(job, what="x", net_minor=1, minutes=0, agreed_on=TODAY() - timedelta(days=400), user=books)
    assert Payment.objects.count() == 2
