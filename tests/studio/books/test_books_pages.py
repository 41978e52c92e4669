"""The pages of the books: behind the login, narrowed, summed, taken away, with a fixed number of queries.

Outside: sums by hand from the rows themselves; HTML and CSV are read by the standard library (common practice, no source).
"""

import csv
import io
import re
from uuid import uuid4
from xml.etree import ElementTree

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from openpyxl import load_workbook
from support_books import agreed, finished, month_before, today

from inventory.models import Movement
from inventory.stock import ledger
from inventory.stock.ledger import Act
from quotes.models import Client, PatternRevision, Quote, QuoteRevision
from studio.accounts.accounting import settle
from studio.books.months import close_month
from studio.models import ClosedMonth, Job, PieceAccount

LAST = month_before(today())
PATHS = [
    "/books/",
    "/books/pieces.xlsx",
    *(f"/books/by/{key}/" for key in ("style", "construction", "client", "month", "price")),
    "/books/months/",
    "/books/months/close/",
    "/books/pieces/Q1/",
]


@pytest.fixture
def site(pattern: PatternRevision, books: User, browser: Browser) -> Browser:
    """A browser on books with a quick piece of last month for Zora and a slow one of today for Ida."""
    settle(finished(agreed(pattern, books, client="Zora Quill", title="Quick"), books, on=LAST, speed=0.7))
    settle(finished(agreed(pattern, books, client="Ida Marl", title="Slow"), books, on=today(), speed=1.6))
    return browser


def many(count: int) -> None:
    """As many pieces more, all like the first."""
    model, revision = PieceAccount.objects.get(job__reference="Q1"), QuoteRevision.objects.get(quote__number=1)
    for number in range(100, 100 + count):
        client = Client.objects.create(name=f"Client {number}")
        quote = Quote.objects.create(number=number, client=client, title=f"Piece {number}")
        facts = {
            name: getattr(revision, name)
            for name in ("pattern", "inputs", "figures", "schema_version", "state", "currency", "price_minor")
        }
        facts |= {
            name: getattr(revision, name) for name in ("fingerprint", "sent_at", "valid_until", "accepted_option")
        }
        job = Job.objects.get(reference="Q1")
        job.pk, job.reference, job.client = None, f"Q{number}", client
        job.revision = QuoteRevision.objects.create(quote=quote, number=1, **facts)
        job.save()
        model.pk, model.job, model.style = None, job, f"Style {number}"
        model.save()


def asked(browser: Browser, path: str) -> list[str]:
    with CaptureQueriesContext(connection) as captured:
        assert browser.get(path).status_code == 200
    return [query["sql"] for query in captured]


@pytest.mark.django_db
@pytest.mark.parametrize("path", PATHS)
def test_every_page_is_behind_the_login(path: str):
    assert Browser().get(path)["Location"].startswith("/login/")


@pytest.mark.parametrize("path", PATHS)
def test_every_page_answers_without_inline_script_or_style(site: Browser, path: str):
    answer = site.get(path)
    assert answer.status_code == 200
    if answer["Content-Type"].startswith("text/html"):
        assert not re.search(rb"<script(?! src)|<style| style=| on[a-z]+=", answer.content)


@pytest.mark.django_db
@pytest.mark.parametrize("path", [path for path in PATHS if not path.endswith("/Q1/")])
def test_books_without_a_piece_say_so(browser: Browser, books: User, path: str):
    assert browser.get(path).status_code == 200


def test_the_list_shows_each_piece_and_what_all_come_to(site: Browser):
    page = site.get("/books/").content.decode()
    rows = list(PieceAccount.objects.all())
    profit = sum(row.actual_profit_minor for row in rows)
    foot = page[page.index("<tfoot>") :]
    for amount in (sum(row.net_minor for row in rows), profit):
        assert f"{abs(amount) / 100:,.2f}" in foot
    for title, reference in (("Quick", "Q1"), ("Slow", "Q2")):
        assert f'<a href="/books/pieces/{reference}/">{title}</a>' in page


@pytest.mark.parametrize(
    ("query", "titles"),
    [
        ("word=zora", {"Quick"}),
        ("word=slow", {"Slow"}),
        ("word=q2", {"Slow"}),
        (f"until={LAST.isoformat()}", {"Quick"}),
        (f"since={today().isoformat()}", {"Slow"}),
        ("floor=under", {"Slow"}),
        ("floor=kept", {"Quick"}),
        ("construction=Nonsense&sort=wings&page=99", {"Quick", "Slow"}),
        ("sort=-margin", {"Quick", "Slow"}),
    ],
)
def test_the_list_is_narrowed(site: Browser, query: str, titles: set[str]):
    table = site.get(f"/books/?{query}").context["table"]
    assert {row.record.job.title for row in table.page.object_list} == titles


def test_it_is_sorted_by_margin(site: Browser):
    for query, titles in (("sort=margin", ["Slow", "Quick"]), ("sort=-margin", ["Quick", "Slow"])):
        table = site.get(f"/books/?{query}").context["table"]
        assert [row.record.job.title for row in table.page.object_list] == titles


def test_lists_ask_as_often_with_many_pieces_and_load_no_document(site: Browser):
    paths = [path for path in PATHS if path not in ("/books/pieces.xlsx", "/books/pieces/Q1/")]
    before = {path: len(asked(site, path)) for path in paths}
    many(50)
    after = {path: asked(site, path) for path in paths}
    assert {path: len(queries) for path, queries in after.items()} == before
    for query in after["/books/"]:
        # The year sums one figure of each document where it lies; none is loaded.
        for there in ('"studio_pieceaccount"."document", \'$.', '"studio_pieceaccount"."document" #>> '):
            query = query.replace(there, "")
        assert '"document"' not in query


def test_the_list_goes_out_as_numbers(site: Browser):
    answer = site.get("/books/?export=csv&sort=delivered_on")
    header, first, second = csv.reader(io.StringIO(answer.content.decode("utf-8-sig")))
    kept = PieceAccount.objects.get(job__reference="Q1")
    row = dict(zip(header, first, strict=True))
    assert (row["No"], row["Client"], row["Style"]) == ("Q1", "Zora Quill", kept.style)
    assert row["Profit"] == f"{kept.actual_profit_minor / 100:.2f}"
    assert (row["Tax"], row["Minutes"]) == (f"{kept.job.tax_minor / 100:.2f}", f"{kept.minutes}")
    assert second[0] == "Q2"
    sheet = load_workbook(io.BytesIO(site.get("/books/?export=xlsx&word=zora").content)).active
    assert [cell.value for cell in sheet["A"]] == ["No", "Q1"]


def test_the_workbook_holds_what_the_list_is_narrowed_to(site: Browser):
    book = load_workbook(io.BytesIO(site.get("/books/pieces.xlsx?word=zora").content))
    assert [cell.value for cell in book["Pieces"]["A"]] == ["Job", "Q1", "Together"]


def test_an_account_says_its_sentence_and_each_figure_its_reason(site: Browser):
    page = site.get("/books/pieces/Q2/").content.decode()
    found = PieceAccount.objects.get(job__reference="Q2").kept.account
    assert "It lost" in page or "less than quoted" in page
    assert page.count('<details class="ledger-line step"') == len(found.bridge)
    assert page.count('<dl class="reason">') >= len(found.bridge)
    job = Job.objects.get(reference="Q2")
    for way in (f"/quotes/{job.revision.quote_id}/1/", f"/bench/{job.pk}/", "/shelf/movements/?job=Q2"):
        assert f'href="{way}"' in page
    drawing = ElementTree.fromstring(page[page.index("<svg") : page.index("</svg>") + 6])
    assert drawing.get("role") == "img"


def test_a_piece_that_has_changed_since_is_worked_out_again(site: Browser, books: User):
    assert b"has changed since" not in site.get("/books/pieces/Q2/").content
    before = PieceAccount.objects.get(job__reference="Q2").actual_profit_minor
    cord = Movement.objects.get(posting__job="Q2", item__code="cord-flat-6").lot
    ledger.give_back(Act(key=uuid4(), by=books), lot=cord, quantity=1000, job="Q2")
    assert b"has changed since" in site.get("/books/pieces/Q2/").content
    assert site.get("/books/pieces/Q2/again/").status_code == 405
    assert site.post("/books/pieces/Q2/again/")["Location"] == "/books/pieces/Q2/"
    # A metre of cord at €1.15.
    assert PieceAccount.objects.get(job__reference="Q2").actual_profit_minor == before + 115


def test_a_closed_piece_says_so_instead_of_changing(site: Browser):
    close_month(LAST.year, LAST.month, user=None)
    page = site.post("/books/pieces/Q1/again/", follow=True).content.decode()
    assert f"{LAST:%B %Y} is closed, and the figures of this piece stand." in page


def test_pieces_by_what_they_share_lead_to_the_list(site: Browser):
    page = site.get("/books/by/client/").content.decode()
    assert 'href="/books/?word=Zora+Quill"' in page
    month = site.get("/books/by/month/").content.decode()
    assert f'href="/books/?since={LAST.replace(day=1).isoformat()}&amp;until=' in month
    assert f"{LAST:%B %Y}" in month
    rows = list(csv.reader(io.StringIO(site.get("/books/by/client/?export=csv").content.decode("utf-8-sig"))))
    assert [row[:2] for row in rows] == [["Client", "Pieces"], ["Ida Marl", "1"], ["Zora Quill", "1"]]
    assert site.get("/books/by/wings/").status_code == 404
    assert site.get("/books/pieces/Q77/").status_code == 404


def test_quotes_won_by_price(site: Browser):
    page = site.get("/books/by/price/").content.decode()
    assert "2 of 2 quotes that were decided became work." in page
    assert "No quote was decided" in site.get("/books/by/price/?until=2001-01-01").content.decode()


def test_a_month_is_closed_after_asking(site: Browser):
    page = site.get("/books/months/close/")
    assert f"{LAST:%B %Y} has 1 finished piece." in page.content.decode()
    answer = site.post("/books/months/close/", {"month": page.context["form"]["month"].value()}, follow=True)
    assert f"{LAST:%B %Y} is closed." in answer.content.decode()
    assert f"closed on {today().day}" in answer.content.decode()
    assert ClosedMonth.objects.get().by == User.objects.get(username="maker")
    assert "No month that is over is open." in site.get("/books/months/close/").content.decode()


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ("", "required"),
        ("many", "valid date"),
        (today().isoformat(), "is not over yet"),
        ("2001-02-01", "comes next"),
    ],
)
def test_a_month_that_cannot_be_closed_is_answered_by_422_and_words(site: Browser, said: str, words: str):
    answer = site.post("/books/months/close/", {"month": said})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not ClosedMonth.objects.exists()


def test_a_month_is_opened_again_after_asking_why(site: Browser):
    assert "No month is closed." in site.get("/books/months/reopen/").content.decode()
    month = {"month": LAST.replace(day=1).isoformat()}
    site.post("/books/months/close/", month)
    page = site.get("/books/months/reopen/").content.decode()
    assert f"{LAST:%B %Y} was closed on {today().day}" in page
    without = site.post("/books/months/reopen/", {**month, "why": " "})
    assert without.status_code == 422
    assert "required" in without.content.decode()
    answer = site.post("/books/months/reopen/", {**month, "why": "A receipt turned up"}, follow=True).content.decode()
    assert f"{LAST:%B %Y} is open again." in answer
    assert "by maker: A receipt turned up" in answer
    again = site.post("/books/months/reopen/", {**month, "why": "A receipt turned up"})
    assert again.status_code == 422
    assert "is not closed" in again.content.decode()


def test_overhead_is_said_for_the_year_that_is_asked(site: Browser):
    page = site.get(f"/books/months/?year={today().year}").content.decode()
    assert f"Overhead of {today().year}" in page
    assert "absorbed by" in page
    assert f"Overhead of {today().year}" in site.get("/books/months/?year=99999").content.decode()
