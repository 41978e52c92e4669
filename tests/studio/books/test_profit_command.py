"""The `profit` command: the promised document, its identities, the workbook and the refusals.

Outside: the promise of the command line (quoted_profit + the amounts of bridge = actual_profit, to the minor unit); sums
by the database; the workbook is read back by openpyxl.
"""

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.db.models import Sum
from openpyxl import load_workbook
from support_books import agreed, finished, month_before, today
from support_commands import run, stop_codes

from quotes.desk.quoting import accept, decline, offer_of_today, send, start_quote
from quotes.models import Client, PatternRevision, QuoteRevision
from quotes.seal.snapshot import offer_fingerprint
from studio.accounts.accounting import settle
from studio.books.sums import KEYS, accounts, outcomes, pieces_of
from studio.models import PieceAccount
from studio.profit.totals import total, totals_by

LAST = month_before(today())
D = Decimal


@pytest.fixture
def made(pattern: PatternRevision, books: User) -> list[PieceAccount]:
    """Three pieces: a quick and a slow one of last month, and one of today whose title begins like a formula."""
    said = [
        ("Zora Quill", "Underbust", LAST, 0.7),
        ("Zora Quill", "Stage", LAST, 1.6),
        ("Ida Marl", "=1+1", today(), 1.0),
    ]
    return [
        settle(finished(agreed(pattern, books, client=client, title=title), books, on=on, speed=speed))
        for client, title, on, speed in said
    ]


def test_every_bridge_adds_up_and_every_key_is_there(made: list[PieceAccount]):
    code, document = run("profit")
    assert code == 0
    assert document["currency"] == "EUR"
    assert [piece["job"] for piece in document["pieces"]] == ["Q1", "Q2", "Q3"]
    for piece in document["pieces"]:
        bridge = sum(D(line["amount"]) for line in piece["bridge"])
        assert D(piece["quoted_profit"]) + bridge == D(piece["actual_profit"])
        assert piece["sentence"].startswith("It ")
        assert {"job", "title", "delivered", "per_hour", "margin_share"} <= set(piece)
    totals = document["totals"]
    assert D(totals["actual_profit"]) == sum(D(piece["actual_profit"]) for piece in document["pieces"])
    assert (totals["best"], totals["worst"]) == (["Q1", "Q3", "Q2"], ["Q2", "Q3", "Q1"])
    assert totals["overhead"]["absorbed"] == f"{sum(D(piece['overhead']) for piece in document['pieces'])}"


def test_page_and_document_have_one_sum_and_it_is_the_databases(made: list[PieceAccount]):
    totals = run("profit")[1]["totals"]
    pieces = pieces_of(accounts())
    whole = total(pieces)
    summed = accounts().aggregate(
        net=Sum("net_minor"), quoted=Sum("quoted_profit_minor"), profit=Sum("actual_profit_minor")
    )
    assert (whole.net_minor, whole.quoted_profit_minor, whole.actual_profit_minor) == tuple(summed.values())
    assert [100 * D(totals[name]) for name in ("net", "quoted_profit", "actual_profit")] == list(summed.values())
    assert (whole.pieces, whole.per_hour_minor) == (totals["pieces"], 100 * D(totals["per_hour"]))
    assert whole.under_floor == len(totals["under_floor"]) == 1
    clients = PieceAccount.objects.order_by("client_name").values_list("client_name")
    by_client = clients.annotate(profit=Sum("actual_profit_minor"), minutes=Sum("minutes"))
    found = [(row.key, row.actual_profit_minor, row.minutes) for row in totals_by(pieces, *KEYS["client"])]
    assert found == list(by_client)
    assert [row.key for row in totals_by(pieces, "month")] == [f"{LAST:%Y-%m}", f"{today():%Y-%m}"]


def test_days_narrow_it(made: list[PieceAccount]):
    document = run("profit", "--from", LAST.isoformat(), "--to", LAST.isoformat())[1]
    assert [piece["job"] for piece in document["pieces"]] == ["Q1", "Q2"]
    after = (LAST + timedelta(days=1)).isoformat()
    assert [piece["job"] for piece in run("profit", "--from", after)[1]["pieces"]] == ["Q3"]


def test_quotes_that_were_lost_count_in_the_win_rate(made: list[PieceAccount], pattern: PatternRevision, books: User):
    """Three accepted and one declined are three of four; tomorrow the one that is out has expired: three of five."""
    model = QuoteRevision.objects.get(quote__number=1)
    for title in ("Declined", "Expired"):
        options = model.inputs["options"]
        draft = start_quote(
            client=Client.objects.all()[0], title=title, due=None, pattern=pattern, options=options, user=books
        )
        seen = offer_fingerprint(offer_of_today(draft))
        out = send(revision=draft, valid_until=today(), seen=seen, user=books)
        if title == "Declined":
            decline(revision=out, user=books)
    bands = run("profit")[1]["totals"]["win_rates"]
    assert [(band["quotes"], band["won"]) for band in bands] == [(4, 3)]
    tomorrow = outcomes(today(), today() + timedelta(days=1), on=today() + timedelta(days=1))
    assert sorted(outcome.is_won for outcome in tomorrow) == [False, False, True, True, True]
    (band,) = bands
    assert D(band["low"]) <= D(model.figures["quotation"]["options"][0]["gross"]) < D(band["high"])


def test_an_option_that_is_named_by_a_digit_counts_at_its_own_price(
    pattern: PatternRevision, books: User, two_layers: dict
):
    options = [{**two_layers, "name": "1"}, {**two_layers, "name": "2", "choices": {"flossing": True}}]
    client = Client(name="Zora Quill")
    draft = start_quote(client=client, title="Stays", due=None, pattern=pattern, options=options, user=books)
    seen = offer_fingerprint(offer_of_today(draft))
    out = send(revision=draft, valid_until=today(), seen=seen, user=books)
    accept(revision=out, option="2", user=books)
    plain, flossed = (D(option["gross"]) for option in out.figures["quotation"]["options"])
    assert plain < flossed
    assert [outcome.price_minor for outcome in outcomes(today(), today(), on=today())] == [100 * flossed]


@pytest.mark.django_db
def test_books_without_a_piece_answer_with_none(books: User):
    code, document = run("profit")
    assert (code, document["pieces"], document["totals"]["pieces"]) == (0, [], 0)


def test_the_workbook_goes_on_working_and_a_title_is_never_a_formula(made: list[PieceAccount], tmp_path: Path):
    out = tmp_path / "profit.xlsx"
    document = run("profit", "--xlsx", out)[1]
    book = load_workbook(out)
    by = ["By style", "By construction", "By client", "By month"]
    assert book.sheetnames == ["Pieces", "Bridge", *by, "Styles by month", "Months and quotes", "By price"]
    pieces = book["Pieces"]
    assert (pieces["B4"].value, pieces["B4"].data_type) == ("=1+1", "s")
    assert (pieces["K2"].value, pieces["K2"].data_type) == ("=D2-SUM(E2:J2)", "f")
    assert pieces["K5"].value == "=SUM(K2:K4)"
    assert (pieces["A5"].value, pieces["P5"].value) == ("Together", '=IF(O5>0,(K5+H5)/O5,"")')
    last = book["By style"].max_row
    assert book["By style"].cell(last, 7).value == "=Pieces!P5"
    bridge = [(row[0].value, D(str(row[3].value))) for row in book["Bridge"].iter_rows(min_row=2)]
    at = 2
    for row, piece in enumerate(document["pieces"], start=2):
        # As a spreadsheet would work the formulas out: net less all that it took, and the bridge's own lines.
        net, *taken = (D(str(pieces.cell(row, column).value)) for column in range(4, 11))
        assert net - sum(taken) == D(piece["actual_profit"])
        until = at + len(piece["bridge"])
        assert pieces[f"M{row}"].value == f"=SUM(Bridge!D{at}:D{until - 1})"
        lines = bridge[at - 2 : until - 2]
        assert {job for job, _ in lines} == {piece["job"]}
        assert D(str(pieces[f"L{row}"].value)) + sum(amount for _, amount in lines) == D(piece["actual_profit"])
        at = until
    assert at - 2 == len(bridge)


def test_the_workbooks_analyses_are_of_the_same_sums(made: list[PieceAccount], tmp_path: Path):
    """Three accepted quotes, decided today; two pieces of last month and one of this."""
    out = tmp_path / "profit.xlsx"
    totals = run("profit", "--xlsx", out)[1]["totals"]
    book = load_workbook(out)
    months = [f"{LAST:%Y-%m}", f"{today():%Y-%m}"]
    header, *styles, together = book["Styles by month"].iter_rows(values_only=True)
    assert header == ("Profit", *months, "Together")
    profits = [sum(D(str(row[place])) for row in styles) for place in (1, 2)]
    assert profits == [D(row["actual_profit"]) for row in totals["by_month"]]
    assert (styles[0][3], together[1]) == ("=SUM(B2:C2)", f"=SUM(B2:B{len(styles) + 1})")
    _, *rows, together = book["Months and quotes"].iter_rows(values_only=True)
    assert [(row[0], row[1], row[5], row[7]) for row in rows] == [(months[0], 2, 0, 0), (months[1], 1, 3, 0)]
    assert [D(str(row[2])) for row in rows] == [D(row["net"]) for row in totals["by_month"]]
    assert (together[5], together[9]) == ("=SUM(F2:F3)", '=IF(F4+H4>0,F4/(F4+H4),"")')
    prices = list(book["By price"].iter_rows(min_row=2, values_only=True))
    bands = totals["win_rates"]
    assert [tuple(D(str(row[place])) for place in range(4)) for row in prices] == [
        tuple(D(band[name]) for name in ("low", "high", "quotes", "won")) for band in bands
    ]


@pytest.mark.parametrize(
    ("said", "code"),
    [
        (("--from", "2026-02-30"), "option.date"),
        (("--to", "soon"), "option.date"),
        (("--from", "2026-03-01", "--to", "2026-02-01"), "option.dates"),
        (("--xlsx", "/nowhere/at/all.xlsx"), "option.xlsx"),
    ],
)
def test_options_that_cannot_be_are_refused(books: User, said: tuple[str, ...], code: str):
    exit_code, document = run("profit", *said)
    assert exit_code == 1
    assert stop_codes(document) == {code}


def test_the_longest_time_is_answered(books: User):
    assert run("profit", "--from", date.min.isoformat(), "--to", date.max.isoformat())[0] == 0
