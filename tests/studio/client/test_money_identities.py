"""Random lives of a piece’s money: a plain ledger in this file knows what is invoiced, paid, due, held and credited, and
every page, list and the audit say the same.

The plain ledger is two sums and a list of rows; the identities are those of any open-item account.
"""

import csv
import re
from dataclasses import dataclass, field
from decimal import Decimal
from io import StringIO
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support_bench import pay

from inventory.ground.findings import Refused
from inventory.ground.wording import minor_text
from inventory.models import Shelf
from inventory.stock.audit import audit
from quotes.desk.figures import work_out
from quotes.desk.quoting import columns_of
from quotes.models import Client, PatternRevision, QuoteRevision
from quotes.seal.snapshot import fingerprint
from quotes.workroom.settings import workroom
from studio.bench.job_making import make_job
from studio.client.change_orders import agree_change
from studio.client.credits import give_credit, take_credit_back
from studio.client.delivery import deliver, expected_invoice
from studio.client.payments import reverse_payment
from studio.models import Credit, Job, Payment, PieceAccount
from studio.money.bills import bill, standing

pytestmark = pytest.mark.django_db
STEPS = ("deposit", "balance", "refund", "change", "deliver", "credit", "reverse", "take-back")
SIZES = st.integers(1, 200_000)


@dataclass
class Plain:
    """Every row that counts, and what was invoiced."""

    paid: dict[int, int] = field(default_factory=dict)
    credited: dict[int, int] = field(default_factory=dict)
    invoiced: int | None = None

    @property
    def kept(self) -> int:
        return sum(self.paid.values())

    @property
    def owed(self) -> int:
        return (self.invoiced or 0) - sum(self.credited.values()) - self.kept if self.invoiced is not None else 0


AMOUNTS = ("labour_per_hour", "overhead_per_hour", "fee_fixed", "minimum_per_hour", "price_step")


@pytest.fixture(params=["EUR", "JPY", "KWD"])
def life(request: pytest.FixtureRequest, books: User, pattern: PatternRevision, two_layers: dict[str, Any]) -> Job:
    """An open job quoted in a currency, its rates in whole units, which every currency has."""
    code, today = request.param, timezone.localdate()
    Shelf.objects.update(currency=code)
    rates = dict(workroom().rates)
    rates |= {name: str(round(Decimal(rates[name]))) for name in AMOUNTS if rates.get(name)}
    inputs = {"title": "Underbust", "client": "Odile Farrant", "currency": code, "units": "mm"}
    inputs |= {"options": [two_layers], "extras": [], "rates": rates}
    columns = columns_of(work_out(inputs, pattern))
    revision = QuoteRevision.objects.create(
        quote=Client.objects.create(name="Odile Farrant").quotes.create(number=1, title="Underbust"),
        number=1,
        state=QuoteRevision.State.ACCEPTED,
        pattern=pattern,
        inputs=inputs,
        fingerprint=fingerprint(columns["figures"]),
        sent_at=timezone.now(),
        decided_at=timezone.now(),
        valid_until=today,
        accepted_option=two_layers["name"],
        **columns,
    )
    job = make_job(revision, user=books, on=today)
    assert job.currency.digits == {"EUR": 2, "JPY": 0, "KWD": 3}[code]
    return job


def step(job: Job, what: str, minor: int, plain: Plain, user: User) -> None:
    """Do one thing where it can be done, and write it into the plain ledger."""
    if what in ("deposit", "balance", "refund"):
        row = pay(job, minor, user, what=what)
        plain.paid[row.pk] = -minor if what == "refund" else minor
    elif what == "change":
        agree_change(job, what=f"{minor}", net_minor=minor % 900 - 450, minutes=0, agreed_on=TODAY(), user=user)
    elif what == "deliver":
        owed = bill(job).agreed_minor
        deliver(job, invoice=expected_invoice(job), on=TODAY(), user=user)
        plain.invoiced = owed
    elif what == "credit":
        facts = {"why": "late", "day": TODAY(), "pays_back": minor % 2 == 0, "key": uuid4(), "user": user}
        row = give_credit(job, amount_minor=minor, **facts)
        plain.credited[row.pk] = row.amount_minor
        for back in Payment.objects.filter(what="refund", reverses=None, reversed_by=None).exclude(pk__in=plain.paid):
            plain.paid[back.pk] = back.amount_minor
    elif what == "reverse":
        slip = Payment.objects.filter(reverses=None, reversed_by=None).order_by("pk").last()
        if slip is not None:
            reverse_payment(slip, why="slip", user=user)
            plain.paid.pop(slip.pk)
    else:
        lower = Credit.objects.filter(reverses=None, reversed_by=None).last()
        if lower is not None:
            take_credit_back(lower, why="slip", user=user)
            plain.credited.pop(lower.pk)


TODAY = timezone.localdate


def exported(browser: Browser, key: str, column: str) -> str:
    answer = browser.get("/books/money/", {"list": key, "export": "csv"}).content.decode("utf-8-sig")
    header, *rows = csv.reader(StringIO(answer))
    return rows[0][header.index(column)] if rows else ""


def says(job: Job, browser: Browser, plain: Plain) -> None:
    """Everything that speaks of the money agrees with the plain ledger."""
    stands = standing(job)
    due, over = max(0, plain.owed), max(0, -plain.owed)
    held = 0 if plain.invoiced is not None else plain.kept
    assert (stands.invoiced_minor, stands.credited_minor) == (plain.invoiced or 0, sum(plain.credited.values()))
    assert (stands.kept_minor, stands.due_minor, stands.held_minor) == (plain.kept, due, held)
    assert stands.too_much_minor == over
    code = job.currency.code
    shown = browser.get(reverse("job-client", args=[job.pk])).content.decode()
    collect = re.search(r"To collect: ([^,]+(?:,\d{3})*[^,]*), since", shown)
    assert (collect[1] if collect else "") == (minor_text(due, code) if due else "")
    desk = browser.get(reverse("quotes:client", args=[job.client_id])).content.decode()
    assert ("Open money" in desk) == bool(due or held or over)
    for key, column, minor in (("due", "Due", due), ("held", "Held", held), ("too-much", "Too much", over)):
        said = exported(browser, key, column)
        assert said == (f"{job.currency.from_minor(minor):f}" if minor else ""), key
    assert audit().differences == ()
    if plain.invoiced is not None:
        kept = PieceAccount.objects.get(job=job)
        assert kept.net_minor == stands.net_minor


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(st.tuples(st.sampled_from(STEPS), SIZES), max_size=7))
def test_whatever_is_done_every_place_says_the_same(
    life: Job, browser: Browser, books: User, steps: list[tuple[str, int]]
):
    with transaction.atomic():
        plain = Plain()
        for what, minor in [*steps, ("deliver", 1), *steps]:
            try:
                with transaction.atomic():
                    step(Job.objects.get(pk=life.pk), what, minor, plain, books)
            except Refused:
                pass  # and then nothing of it is there, as the next look finds
        says(Job.objects.get(pk=life.pk), browser, plain)
        transaction.set_rollback(True)


@settings(max_examples=6, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(st.tuples(st.sampled_from(STEPS), SIZES), max_size=6))
def test_an_open_piece_says_the_same_too(job: Job, browser: Browser, books: User, steps: list[tuple[str, int]]):
    with transaction.atomic():
        plain = Plain()
        for what, minor in steps:
            try:
                with transaction.atomic():
                    step(Job.objects.get(pk=job.pk), what, minor, plain, books)
            except Refused:
                pass
        says(Job.objects.get(pk=job.pk), browser, plain)
        transaction.set_rollback(True)
