"""The page of a year: every line opens its rows, each with the way to what it sums; the same rows can be taken away.

Outside: sums by hand from rows and settings; HTML and CSV are read by the standard library, the workbook by openpyxl.
"""

import csv
import io
from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from openpyxl import load_workbook
from support_books import agreed, finished, operation, today, worked
from support_shelf import act, item, stocked

from inventory.ground.money import currency_of
from inventory.ground.sheets import Formula
from inventory.models import Movement
from inventory.stock import ledger
from quotes.desk.quoting import accept, decline, offer_of_today, revise, send, start_quote
from quotes.models import Client, PatternRevision, QuoteRevision, YearlyCost
from quotes.seal.snapshot import offer_fingerprint
from studio.bench.job_making import cancel_job, make_job
from studio.books.sums import outcomes
from studio.books.year import known_days, result_of_year
from studio.books.year_table import year_sheet
from studio.client.payments import take_payment
from studio.models import Job, Payment, PieceAccount
from studio.profit.year import About, Line, Worked, YearResult, year_result

D = Decimal
THIS = today().year


def result() -> YearResult:
    return result_of_year(THIS, on=today())


def rows(found: YearResult, line: Line) -> list[tuple[About, Decimal]]:
    return next([(row.about, row.amount) for row in each.rows] for each in found.lines if each.line is line)


@pytest.fixture
def piece(pattern: PatternRevision, books: User) -> Job:
    """A piece that was made and delivered today."""
    return finished(agreed(pattern, books), books, on=today())


@pytest.fixture
def given_up(pattern: PatternRevision, books: User) -> Job:
    """A job that was given up today: 2 hours, 10 m of cord for 8.00, 100.00 paid by card for 2.50, 39.50 back."""
    job = make_job(agreed(pattern, books, title="Given up"), user=books, on=today())
    worked(operation(job, "CUT"), books, 120, on=today())
    ledger.issue(act(), lot=stocked(item("cord"), 10_000, 800), quantity=10_000, job=job.reference)
    for what, amount, fee in (("deposit", 10_000, 250), ("refund", 3_950, 0)):
        facts = {"day": today(), "note": "", "key": uuid4(), "user": books}
        take_payment(job, what=what, amount_minor=amount, fee_minor=fee, **facts)
    cancel_job(job, why="Moved away", user=books)
    job.refresh_from_db()
    return job


def test_a_job_given_up_by_hand(given_up: Job):
    """2 hours at €24 are €48; €60.50 kept with 21 % tax in it are €50. The fee is no account's."""
    found = result()
    assert rows(found, Line.GIVEN_UP) == [
        (About.MATERIALS, D("-8.00")),
        (About.HOURS, D("-48.00")),
        (About.KEPT, D("50.00")),
    ]
    assert rows(found, Line.FEES) == [(About.FEE, D("-2.50"))]
    assert (found.paid, found.worked_min) == (D("48.00"), 120)


def test_the_shelf_and_what_is_issued_for_no_job(books: User):
    """100 pieces for 50.00: 10 scrapped, 4 found, 20 for a sample of which 5 came back, a job's own left out."""
    tips = stocked(item("tip"), 100, 5000)
    ledger.scrap(act("rust"), lot=tips, quantity=10)
    ledger.count(act("found"), [(tips, 4)])
    for purpose in ("Sample", "sample"):
        ledger.issue(act(), lot=tips, quantity=10, job=purpose)
    ledger.give_back(act(), lot=tips, quantity=5, job="sample")
    found = result()
    assert rows(found, Line.SHELF) == [(About.SCRAPPED, D("-5.00")), (About.COUNTED, D("2.00"))]
    assert rows(found, Line.WITHOUT_JOB) == [(About.ISSUED, D("-7.50"))]


def test_overhead_of_the_known_days_alone(piece: Job):
    """Nothing was known before the month of the first work: its costs begin with that month."""
    days = known_days(THIS, on=today())
    assert days == (today().replace(day=1), today())
    yearly = sum(YearlyCost.objects.values_list("amount_minor", flat=True))
    length = (date(THIS + 1, 1, 1) - date(THIS, 1, 1)).days
    cost = (D(yearly) / 100 * today().day / length).quantize(D("0.01"))
    (first, charged), *costs = rows(result(), Line.OVERHEAD)
    assert (first, charged) == (About.CHARGED, PieceAccount.objects.get().kept.account.overhead)
    assert -sum(amount for _, amount in costs) == cost
    YearlyCost.objects.all().delete()
    assert rows(result(), Line.OVERHEAD) == []


def test_what_the_shelf_gave_a_piece_after_its_account_was_worked_out_is_counted(piece: Job, books: User):
    """A metre of cord at €1.15 comes back over the shelf’s own page, which knows no accounts."""
    before = result().result
    cord = Movement.objects.get(posting__job=piece.reference, item__code="cord-flat-6").lot
    ledger.give_back(act(by=books), lot=cord, quantity=1000, job=piece.reference)
    found = result()
    assert found.result == before + D("1.15")
    assert (About.CHANGED, D("1.15")) in rows(found, Line.PIECES)


def test_a_refund_after_delivery_lowers_the_result_without_its_tax(piece: Job, books: User):
    """€60.50 back of what was paid in full: €50 at 21 %, give or take a cent of the price’s own rounding."""
    owed = piece.net_minor + piece.tax_minor
    for what, amount in (("balance", owed + 1000), ("refund", 1000), ("refund", 6050)):
        facts = {"fee_minor": 0, "day": today(), "note": "", "key": uuid4(), "user": books}
        take_payment(piece, what=what, amount_minor=amount, **facts)
    ((about, amount),) = rows(result(), Line.REFUNDS)
    assert about is About.REFUND
    assert amount == pytest.approx(D(-50), abs=D("0.01"))


def test_every_line_leads_to_what_it_sums(piece: Job, given_up: Job, books: User, browser: Browser):
    ledger.issue(act(), lot=stocked(item("tip"), 10, 100), quantity=10, job="Sample, teal")
    page = browser.get("/books/year/").content.decode()
    receipt = Payment.objects.get(what="deposit").number
    for way in (
        f"/books/?since={today().replace(day=1).isoformat()}&amp;until=",
        "/workroom/overhead/",
        f"/shelf/movements/?job=Sample%2C+teal&amp;since={THIS}-01-01&amp;until={THIS}-12-31",
        f"/shelf/movements/?job={given_up.reference}",
        f"/bench/{given_up.pk}/",
        f"/bench/{given_up.pk}/client/",
        f"/bench/receipts/{receipt}.pdf",
    ):
        assert f'href="{way}' in page, way
        assert browser.get(way.replace("&amp;", "&").removesuffix("&until=")).status_code == 200
    assert page.count('<details class="ledger-line"') == len(Line) + 1
    assert "What it left you" in browser.get("/books/").content.decode()


def test_years_before_and_to_come(browser: Browser, books: User, piece: Job):
    assert "Nothing of this year" in browser.get(f"/books/year/{THIS - 1}/").content.decode()
    for year in (THIS + 1, 1):
        assert browser.get(f"/books/year/{year}/").status_code == 404
    assert Browser().get("/books/year/")["Location"].startswith("/login/")


def test_the_rows_go_out_and_add_up_to_what_it_left(browser: Browser, books: User, piece: Job, given_up: Job):
    found = result()
    answer = browser.get("/books/year/?export=csv")
    header, *out = csv.reader(io.StringIO(answer.content.decode("utf-8-sig")))
    assert header == ["Line", "What", "Day", "Amount"]
    assert sum(D(row[3]) for row in out) == found.left
    assert sum(D(row[3]) for row in out if row[0] != "Pay for your hours") == found.result
    book = load_workbook(io.BytesIO(browser.get("/books/pieces.xlsx").content))
    sheet = [[cell.value for cell in row] for row in book[f"Year {THIS}"].rows]
    assert [[row[0], D(f"{row[3]}")] for row in sheet[1 : len(out) + 1]] == [[row[0], D(row[3])] for row in out]
    end = len(out) + 1
    assert sheet[end][3] == f'=SUM(D2:D{end})-SUMIF(A2:A{end},"Pay for your hours",D2:D{end})'
    assert f"Year {THIS}" not in load_workbook(io.BytesIO(browser.get("/books/pieces.xlsx?word=q1").content)).sheetnames


def test_a_year_asks_as_often_with_many_rows(browser: Browser, books: User, piece: Job, given_up: Job):
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert browser.get(f"/books/year/{THIS}/").status_code == 200
        return len(captured)

    tips = stocked(item("tip"), 1000, 5000)
    ledger.issue(act(), lot=tips, quantity=10, job="Sample")
    before = asked()
    for number in range(20):
        ledger.scrap(act("rust"), lot=tips, quantity=1)
        ledger.issue(act(), lot=tips, quantity=1, job=f"Sample {number}")
    assert asked() == before


def sent_again(draft: QuoteRevision, user: User) -> QuoteRevision:
    seen = offer_fingerprint(offer_of_today(draft))
    return send(revision=draft, valid_until=today() + timedelta(days=9), seen=seen, user=user)


def test_a_quote_that_was_declined_revised_and_accepted_was_won_once(draft: QuoteRevision, books: User):
    """Lost while it is declined, undecided while its revision is out, won once that is accepted."""

    def decided() -> list[bool]:
        return [outcome.is_won for outcome in outcomes(today(), today(), on=today())]

    decline(revision=sent_again(draft, books), user=books)
    assert decided() == [False]
    again = revise(revision=draft, user=books)
    assert decided() == [False]
    again = sent_again(again, books)
    assert decided() == []
    accept(revision=again, option="Two layers", user=books)
    assert decided() == [True]


def test_a_quote_that_was_declined_twice_was_lost_once(draft: QuoteRevision, books: User):
    decline(revision=sent_again(draft, books), user=books)
    decline(revision=sent_again(revise(revision=draft, user=books), books), user=books)
    other = start_quote(
        client=Client(name="Ida"),
        title="Other",
        due=None,
        pattern=draft.pattern,
        options=draft.inputs["options"],
        user=books,
    )
    decline(revision=sent_again(other, books), user=books)
    assert [outcome.is_won for outcome in outcomes(today(), today(), on=today())] == [False, False]


def test_a_sheet_of_a_year_without_rows_sums_nothing_and_not_itself():
    found = year_result(currency=currency_of("EUR"), days=None, rows=[], pay=[], minutes={Worked.GOES_ON: 90})
    sums = {row[0]: row[3].text for row in year_sheet(found) if isinstance(row[3], Formula)}
    assert (sums["Result"], sums["What it left"]) == ("=0-0", "=0")
    assert sums["An hour"] == '=IF(D4>0,ROUND(D3/D4,2),"")'
