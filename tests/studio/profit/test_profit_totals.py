"""Finished pieces together, and the document of all.

Sources: sums by pandas, a general-purpose library; the rest worked by hand (common practice, no source).
"""

import json
from datetime import date
from decimal import Decimal

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support_profit import EUR, JPY, actual, d, done, jobs, quoted, used

from inventory.ground.money import currency_of
from studio.profit.account import account
from studio.profit.overhead import absorption
from studio.profit.piece import Actual, Quoted
from studio.profit.profit_json import profit_document
from studio.profit.totals import Outcome, Piece, best_first, month_of, totals_by, under_floor, win_rates


def piece(job: str, net: str, hours: str, **said: str) -> Piece:
    """A piece that cost 20 an hour, and that 20 of material went into."""
    happened = actual(
        net=d(net), materials=(used("m", "1", "20"),), hours=(done("SEW", hours),) * (hours != "0"), labour_rate=d("20")
    )
    return Piece(
        job=job,
        title=f"Corset {job}",
        delivered=date.fromisoformat(said.get("delivered", "2026-03-05")),
        style=said.get("style", "underbust"),
        construction=said.get("construction", "two-layer"),
        client=said.get("client", "Ida"),
        account=account(quoted(net=d("300")), happened),
    )


MADE = [
    piece("J1", "320", "10"),
    piece("J2", "620", "30", style="overbust", delivered="2026-04-01"),
    piece("J3", "170", "10", client="Vera", delivered="2026-04-30"),
    piece("J4", "90", "0"),
]
"""Earned per hour: 30, 20, 15, and none logged."""


def test_ratios_of_a_total_are_of_the_sums():
    """J1 and J3: 300 + 150 earned in 20 hours are 22.50 an hour; profit 50 of net 490."""
    by_style = {row.key: row for row in totals_by(MADE[:3], lambda made: made.style, EUR)}
    both = by_style["underbust"]
    assert (both.pieces, both.profit, both.hours, both.per_hour) == (2, 50, 20, d("22.50"))
    assert both.margin_share == d("50") / d("490")


def test_months_are_those_of_delivery_in_order():
    assert [(row.key, row.pieces) for row in totals_by(MADE, month_of, EUR)] == [("2026-03", 2), ("2026-04", 2)]


def test_best_and_worst_go_by_the_hour():
    assert [made.job for made in best_first(MADE)] == ["J1", "J2", "J3"]


def test_under_the_floor_worst_first_and_on_it_is_not_under():
    assert [made.job for made in under_floor(MADE, d("30"))] == ["J3", "J2"]
    assert [made.job for made in under_floor(MADE, d("30.01"))] == ["J3", "J2", "J1"]


def test_a_floor_is_held_against_what_was_earned_before_rounding():
    """100 in 3 hours is 33.333…: shown as 33.33, and above a floor of 33.33."""
    assert under_floor([piece("J9", "120", "3")], d("33.33")) == ()
    assert len(under_floor([piece("J9", "120", "3")], d("33.34"))) == 1


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(jobs(EUR), st.sampled_from(["underbust", "overbust", "waist"])), min_size=1, max_size=8))
def test_totals_are_those_of_a_data_frame(made: list[tuple[tuple[Quoted, Actual], str]]):
    pieces = [
        Piece(
            job=str(number),
            title="",
            delivered=date(2026, 1, 1),
            style=style,
            construction="",
            client="",
            account=account(*job),
        )
        for number, (job, style) in enumerate(made)
    ]
    frame = pd.DataFrame(
        [(made.style, int(made.account.profit * 100), int(made.account.net * 100)) for made in pieces],
        columns=["style", "profit", "net"],
    )
    sums = frame.groupby("style").agg(pieces=("net", "size"), profit=("profit", "sum"), net=("net", "sum"))
    found = totals_by(pieces, lambda made: made.style, EUR)
    assert [row.key for row in found] == list(sums.index)
    for row in found:
        assert row.pieces == sums.loc[row.key, "pieces"]
        assert row.profit * 100 == int(sums.loc[row.key, "profit"])
        assert row.net * 100 == int(sums.loc[row.key, "net"])


def won(*prices: int) -> list[Outcome]:
    return [Outcome(price=Decimal(price), is_won=True) for price in prices]


def lost(*prices: int) -> list[Outcome]:
    return [Outcome(price=Decimal(price), is_won=False) for price in prices]


def test_win_rate_by_price_band():
    """From 420 to 1,180 in hundreds would be eight bands; in two hundreds they are four."""
    found = win_rates([*won(420, 599, 600, 800), *lost(450, 799, 1000, 1180)])
    assert [(int(band.low), int(band.high), band.quotes, band.won) for band in found] == [
        (400, 600, 3, 2),
        (600, 800, 2, 1),
        (800, 1000, 1, 1),
        (1000, 1200, 2, 0),
    ]
    assert found[0].won_share == d("2") / 3


def test_six_bands_are_few_enough_and_seven_are_not():
    """400 to 999 are six hundreds; 400 to 1,000 would be seven."""
    assert [int(band.high - band.low) for band in win_rates(won(400, 999))] == [100, 100]
    assert [int(band.high - band.low) for band in win_rates(won(400, 1000))] == [200, 200]


@given(st.lists(st.tuples(st.integers(0, 10**7), st.booleans()), max_size=30))
def test_bands_hold_every_quote_once_and_are_few(said: list[tuple[int, bool]]):
    outcomes = [Outcome(price=EUR.from_minor(price), is_won=is_won) for price, is_won in said]
    found = win_rates(outcomes)
    assert len(found) <= 6
    assert sum(band.quotes for band in found) == len(outcomes)
    for band in found:
        inside = [outcome.is_won for outcome in outcomes if band.low <= outcome.price < band.high]
        assert (len(inside), sum(inside)) == (band.quotes, band.won)


def test_the_document_keeps_its_promise():
    """Quoted profit and the bridge make the actual profit; money as strings, shares as numbers."""
    document = profit_document(
        MADE,
        EUR,
        minimum_per_hour=d("18"),
        outcomes=[*won(420), *lost(800)],
        overhead=absorption(incurred=d("500"), absorbed=d("480"), cause_costs=()),
    )
    read = json.loads(json.dumps(document))
    assert read == document
    assert list(read) == ["currency", "pieces", "totals"]
    for row in read["pieces"]:
        assert list(row)[:8] == [
            *("job", "title", "delivered", "quoted_profit", "actual_profit", "per_hour", "margin_share", "sentence"),
        ]
        steps = sum((d(line["amount"]) for line in row["bridge"]), Decimal(0))
        assert d(row["quoted_profit"]) + steps == d(row["actual_profit"])
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
    assert [row["key"] for row in totals["by_client"]] == ["Ida", "Vera"]
    assert (totals["best"], totals["worst"], totals["under_floor"]) == (["J1", "J2", "J3"], ["J3", "J2", "J1"], ["J3"])
    assert [band["won"] for band in totals["win_rates"]] == [1, 0]
    assert totals["overhead"]["difference"] == "-20.00"


def test_an_empty_period_is_a_document_too():
    found = profit_document([], JPY, minimum_per_hour=None, outcomes=[], overhead=None)
    assert found["pieces"] == []
    assert found["totals"]["actual_profit"] == "0"
    assert (found["totals"]["per_hour"], found["totals"]["overhead"]) == (None, None)


@settings(max_examples=60, deadline=None)
@given(jobs())
def test_printed_amounts_have_the_currency_s_decimals_and_add_up(job: tuple[Quoted, Actual]):
    made = Piece(
        job="J", title="", delivered=date(2026, 1, 1), style="", construction="", client="", account=account(*job)
    )
    currency = made.account.currency
    found = profit_document([made], currency, minimum_per_hour=None, outcomes=[], overhead=None)
    (row,) = found["pieces"]
    amounts = [row["quoted_profit"], row["actual_profit"], *(line["amount"] for line in row["bridge"])]
    decimals = {"EUR": 2, "JPY": 0, "KWD": 3}[currency.code]
    assert all(len(amount.partition(".")[2]) == decimals for amount in amounts)
    assert currency == currency_of(currency.code)
    assert d(row["quoted_profit"]) + sum(d(line["amount"]) for line in row["bridge"]) == d(row["actual_profit"])
