"""Finished pieces together, and the document of all.

Sources: sums by a plain loop over dictionaries; the rest worked by hand (common practice, no source).
"""

import json
from collections import Counter
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_profit import EUR, JPY, d, done, jobs, quoted, used
from support_profit import actual as happened

from inventory.ground.money import Currency, currency_of
from studio.profit.account import account
from studio.profit.analysis import months_of_books, styles_by_month
from studio.profit.overhead import absorption
from studio.profit.piece import Account, Actual, Quoted
from studio.profit.profit_json import Books, profit_document
from studio.profit.totals import Outcome, Piece, best_and_worst, total, totals_by, under_floor, win_rates


def row(reference: str, found: Account, **said: Any) -> Piece:
    """An account as the books keep it."""
    minor = found.currency.to_minor
    nothing: dict[str, Any] = {
        **{"title": f"Corset {reference}", "delivered_on": date(2026, 3, 5), "style": "underbust"},
        **{"construction": "two-layer", "client": "Ida", "client_id": 1, "is_under_floor": False, "is_unsure": False},
    }
    return Piece(
        reference=reference,
        net_minor=minor(found.net),
        quoted_profit_minor=minor(found.quoted_profit),
        actual_profit_minor=minor(found.profit),
        labour_minor=minor(found.labour),
        overhead_minor=minor(found.overhead),
        minutes=round(found.hours * 60),
        **{**nothing, **said},
    )


def earned(net: str, hours: str) -> Account:
    """What a piece earned that cost 20 an hour, and that 20 of material went into."""
    taken = (used("m", "1", "20"),)
    worked = (done("SEW", hours),) * (hours != "0")
    return account(quoted(net=d("300")), happened(net=d(net), materials=taken, hours=worked, labour_rate=d("20")))


KEPT = {
    row("J1", found := earned("320", "10")): found,
    row("J2", found := earned("620", "30"), style="overbust", delivered_on=date(2026, 4, 1)): found,
    row("J3", found := earned("170", "10"), client="Vera", client_id=2, delivered_on=date(2026, 4, 30)): found,
    row("J4", found := earned("90", "0")): found,
}
"""Earned per hour: 30, 20, 15, and none logged."""
MADE = list(KEPT)


def books(accounts: dict[Piece, Account], currency: Currency, **said: Any) -> Books:
    nothing: dict[str, Any] = {"minimum_per_hour": None, "outcomes": (), "overhead": None}
    return Books(currency=currency, accounts=accounts, **{**nothing, **said})


def test_ratios_of_a_total_are_of_the_sums():
    """J1 and J3: 300 + 150 earned in 20 hours are 22.50 an hour; profit 50 of net 490."""
    both = {found.key: found for found in totals_by(MADE[:3], "style")}["underbust"]
    assert (both.pieces, both.actual_profit_minor, both.minutes, both.per_hour_minor) == (2, 5000, 1200, 2250)
    assert both.margin_share == d("50") / d("490")


def test_months_are_those_of_delivery_in_order():
    assert [(found.key, found.pieces) for found in totals_by(MADE, "month")] == [("2026-03", 2), ("2026-04", 2)]


def test_two_of_one_name_are_told_apart_where_that_is_asked():
    twice = [row("J1", earned("320", "10"), client_id=1), row("J2", earned("320", "10"), client_id=2)]
    assert [(found.key, found.pieces) for found in totals_by(twice, "client")] == [("Ida", 2)]
    assert [(found.key, found.pieces) for found in totals_by(twice, "client", "client_id")] == [("Ida", 1), ("Ida", 1)]


def test_best_and_worst_go_by_the_hour():
    best, worst = best_and_worst(MADE)
    assert [piece.reference for piece in best] == ["J1", "J2", "J3"]
    assert [piece.reference for piece in worst] == ["J3", "J2", "J1"]


def test_under_the_floor_worst_first_and_on_it_is_not_under():
    assert [piece.reference for piece in under_floor(MADE, d("3000"))] == ["J3", "J2"]
    assert [piece.reference for piece in under_floor(MADE, d("3001"))] == ["J3", "J2", "J1"]


def test_a_floor_is_held_against_what_was_earned_before_rounding():
    """100 in 3 hours is 33.333…: shown as 33.33, and above a floor of 33.33."""
    piece = row("J9", earned("120", "3"))
    assert piece.per_hour_minor == 3333
    assert under_floor([piece], d("3333")) == []
    assert under_floor([piece], d("3334")) == [piece]


MONEY = st.integers(-(10**12), 10**12)
PIECES = st.lists(
    st.builds(
        Piece,
        reference=st.text(max_size=3),
        title=st.just(""),
        delivered_on=st.dates(date(2025, 11, 1), date(2026, 3, 1)),
        style=st.sampled_from(["underbust", "Overbust", "", "é"]),
        construction=st.sampled_from(["two-layer", "fused"]),
        client=st.sampled_from(["Ida", "Vera"]),
        client_id=st.integers(1, 3),
        net_minor=MONEY,
        quoted_profit_minor=MONEY,
        actual_profit_minor=MONEY,
        labour_minor=MONEY,
        overhead_minor=MONEY,
        minutes=st.integers(0, 9000),
        is_under_floor=st.booleans(),
        is_unsure=st.booleans(),
    ),
    max_size=12,
)
OUTCOMES = st.lists(
    st.builds(
        Outcome,
        price_minor=st.integers(0, 2**55),
        is_won=st.booleans(),
        day=st.dates(date(2025, 11, 1), date(2026, 3, 1)),
    ),
    max_size=12,
)


@settings(max_examples=60, deadline=None)
@given(PIECES, st.sampled_from(["style", "construction", "client", "month"]))
def test_totals_are_those_of_a_plain_loop(pieces: list[Piece], key: str):
    sums: dict[str, Counter[str]] = {}
    for piece in pieces:
        shared = f"{piece.delivered_on:%Y-%m}" if key == "month" else getattr(piece, key)
        group = sums.setdefault(shared, Counter())
        for name in ("net_minor", "quoted_profit_minor", "actual_profit_minor", "overhead_minor", "minutes"):
            group[name] += getattr(piece, name)
        group["earned_minor"] += piece.actual_profit_minor + piece.labour_minor
        group["under_floor"] += piece.is_under_floor
        group["pieces"] += 1
    found = totals_by(pieces, key)
    assert [row.key for row in found] == sorted(sums)
    for row in found:
        values = {name: getattr(row, name) for name in sums[row.key]}
        assert values == sums[row.key]
        assert {type(value) for value in values.values()} == {int}
    whole = total(pieces)
    for name in ("pieces", "net_minor", "earned_minor", "minutes", "under_floor"):
        assert getattr(whole, name) == sum(group[name] for group in sums.values())


@settings(max_examples=60, deadline=None)
@given(PIECES, OUTCOMES)
def test_the_books_turned_over_are_those_of_a_plain_loop(pieces: list[Piece], outcomes: list[Outcome]):
    """Prices above 2^53 minor units would lose their last one on any way through floats."""
    profit: Counter[tuple[str, str]] = Counter()
    months: dict[str, Counter[str]] = {}
    for piece in pieces:
        profit[piece.style, piece.month] += piece.actual_profit_minor
        names = ("net_minor", "actual_profit_minor", "overhead_minor")
        group = months.setdefault(f"{piece.delivered_on:%Y-%m}", Counter())
        group.update({"pieces": 1, **{name: getattr(piece, name) for name in names}})
    for outcome in outcomes:
        side = "won" if outcome.is_won else "lost"
        group = months.setdefault(f"{outcome.day:%Y-%m}", Counter())
        group.update({side: 1, f"{side}_minor": outcome.price_minor})
    turned = styles_by_month(pieces)
    assert list(turned.months) == sorted({month for _, month in profit})
    assert [style for style, _ in turned.styles] == sorted({style for style, _ in profit})
    for style, amounts in turned.styles:
        assert list(amounts) == [profit[style, month] for month in turned.months]
    found = months_of_books(pieces, outcomes)
    assert [row.month for row in found] == sorted(months)
    for row in found:
        for name in ("pieces", "net_minor", "actual_profit_minor", "overhead_minor", "won", "won_minor", "lost"):
            assert getattr(row, name) == months[row.month][name]
        assert row.lost_minor == months[row.month]["lost_minor"]


def won(*prices: int) -> list[Outcome]:
    return [Outcome(price_minor=100 * price, is_won=True, day=date(2026, 3, 5)) for price in prices]


def lost(*prices: int) -> list[Outcome]:
    return [Outcome(price_minor=100 * price, is_won=False, day=date(2026, 3, 5)) for price in prices]


def test_win_rate_by_price_band():
    """From 420 to 1,180 in hundreds would be eight bands; in two hundreds they are four."""
    found = win_rates([*won(420, 599, 600, 800), *lost(450, 799, 1000, 1180)])
    assert [(band.low_minor // 100, band.high_minor // 100, band.quotes, band.won) for band in found] == [
        (400, 600, 3, 2),
        (600, 800, 2, 1),
        (800, 1000, 1, 1),
        (1000, 1200, 2, 0),
    ]
    assert found[0].won_share == d("2") / 3


def test_six_bands_are_few_enough_and_seven_are_not():
    """400 to 999 are six hundreds; 400 to 1,000 would be seven."""
    assert [(band.high_minor - band.low_minor) // 100 for band in win_rates(won(400, 999))] == [100, 100]
    assert [(band.high_minor - band.low_minor) // 100 for band in win_rates(won(400, 1000))] == [200, 200]


@settings(deadline=None)
@given(OUTCOMES)
def test_bands_hold_every_quote_once_and_are_few(outcomes: list[Outcome]):
    found = win_rates(outcomes)
    assert len(found) <= 6
    assert sum(band.quotes for band in found) == len(outcomes)
    for band in found:
        inside = [outcome.is_won for outcome in outcomes if band.low_minor <= outcome.price_minor < band.high_minor]
        assert (len(inside), sum(inside)) == (band.quotes, band.won)


def test_the_document_keeps_its_promise():
    """Quoted profit and the bridge make the actual profit; money as strings, shares as numbers."""
    document = profit_document(
        books(
            KEPT,
            EUR,
            minimum_per_hour=d("18"),
            outcomes=[*won(420), *lost(800)],
            overhead=absorption(incurred=d("500"), absorbed=d("480"), cause_costs=()),
        )
    )
    read = json.loads(json.dumps(document))
    assert read == document
    assert list(read) == ["currency", "pieces", "totals"]
    for piece in read["pieces"]:
        assert list(piece)[:8] == [
            *("job", "title", "delivered", "quoted_profit", "actual_profit", "per_hour", "margin_share", "sentence"),
        ]
        steps = sum((d(line["amount"]) for line in piece["bridge"]), Decimal(0))
        assert d(piece["quoted_profit"]) + steps == d(piece["actual_profit"])
    first, last = read["pieces"][0], read["pieces"][3]
    assert (first["delivered"], first["actual_profit"], first["per_hour"], first["hours"]) == (
        "2026-03-05",
        "100.00",
        "30.00",
        "10.0000",
    )
    assert first["margin_share"] == pytest.approx(100 / 320, abs=1e-4)
    assert last["per_hour"] is None
    totals = read["totals"]
    assert (totals["pieces"], totals["actual_profit"]) == (4, "120.00")
    assert [found["key"] for found in totals["by_client"]] == ["Ida", "Vera"]
    assert (totals["best"], totals["worst"], totals["under_floor"]) == (["J1", "J2", "J3"], ["J3", "J2", "J1"], ["J3"])
    assert [band["won"] for band in totals["win_rates"]] == [1, 0]
    assert totals["overhead"]["difference"] == "-20.00"


def test_an_empty_period_is_a_document_too():
    found = profit_document(books({}, JPY))
    assert found["pieces"] == []
    assert found["totals"]["actual_profit"] == "0"
    assert (found["totals"]["per_hour"], found["totals"]["overhead"]) == (None, None)


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_printed_amounts_have_the_currency_s_decimals_and_add_up(job: tuple[Quoted, Actual]):
    made = account(*job)
    currency = made.currency
    (piece,) = profit_document(books({row("J", made): made}, currency))["pieces"]
    amounts = [piece["quoted_profit"], piece["actual_profit"], *(line["amount"] for line in piece["bridge"])]
    decimals = {"EUR": 2, "JPY": 0, "KWD": 3}[currency.code]
    assert all(len(amount.partition(".")[2]) == decimals for amount in amounts)
    assert currency == currency_of(currency.code)
    assert d(piece["quoted_profit"]) + sum(d(line["amount"]) for line in piece["bridge"]) == d(piece["actual_profit"])
