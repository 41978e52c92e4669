"""The year's result: a sum of lines, each a sum of rows; what was paid back, pot by pot.

Sources: sums worked by hand; Garrison, Noreen and Brewer, Managerial Accounting (overhead that pieces carried less what it
cost goes into the result of the period).
"""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.money import currency_of
from studio.profit.refunds import Paid, losses_by_refunds
from studio.profit.year import LINES, PAY, About, Line, Row, Worked, YearResult, year_result

D = Decimal
EUR = currency_of("EUR")


def year(*rows: Row, pay: tuple[Row, ...] = (), **minutes: int) -> YearResult:
    worked = {Worked[name.upper()]: count for name, count in minutes.items()}
    return year_result(currency=EUR, days=None, rows=rows, pay=pay, minutes=worked)


def test_a_year_by_hand():
    """100 of pieces, 80 charged of 120 overhead, 7.50 lost, 30 of cloth and 48 of work given up, 60 kept: 34.50.

    With 240 for the pieces' hours and 48 for the lost ones it left 322.50, and for 20 hours 16.125: 16.13.
    """
    found = year(
        Row(about=About.MONTH, amount=D("100.00"), day=date(2026, 3, 1), count=2),
        Row(about=About.CHARGED, amount=D("80.00")),
        Row(about=About.COST, amount=D("-120.00"), what="Rent"),
        Row(about=About.SCRAPPED, amount=D("-7.50")),
        Row(about=About.MATERIALS, amount=D("-30.00")),
        Row(about=About.HOURS, amount=D("-48.00")),
        Row(about=About.KEPT, amount=D("60.00")),
        pay=(
            Row(about=About.PAY_OF_PIECES, amount=D("240.00")),
            Row(about=About.PAY_OF_GIVEN_UP, amount=D("48.00")),
        ),
        planned=1000,
        given_up=120,
        goes_on=80,
    )
    assert {line.line: line.amount for line in found.lines if line.rows} == {
        Line.PIECES: D("100.00"),
        Line.OVERHEAD: D("-40.00"),
        Line.SHELF: D("-7.50"),
        Line.GIVEN_UP: D("-18.00"),
    }
    assert (found.result, found.left, found.per_hour) == (D("34.50"), D("322.50"), D("16.13"))


def test_a_year_without_anything_is_empty_and_has_no_hour():
    found = year()
    assert found.is_empty
    assert (found.result, found.left, found.per_hour) == (0, 0, None)
    assert [line.line for line in found.lines] == list(Line)


def test_every_row_has_one_place():
    placed = [about for abouts in LINES.values() for about in abouts] + sorted(PAY)
    assert sorted(placed) == sorted(About)


ROWS = st.lists(
    st.builds(
        Row,
        about=st.sampled_from([about for about in About if about not in PAY]),
        amount=st.integers(-(10**12), 10**12).map(EUR.from_minor),
    )
)


@given(ROWS)
def test_the_result_is_the_sum_of_every_row(rows: list[Row]):
    found = year(*rows)
    assert found.result == sum(row.amount for row in rows)
    assert found.result == sum(line.amount for line in found.lines)


@pytest.mark.parametrize(
    ("rows", "pay", "words"),
    [
        ([Row(about=About.FEE, amount=D("-0.005"))], [], "finer than the minor unit"),
        ([Row(about=About.PAY_OF_PIECES, amount=D(1))], [], "does not belong"),
        ([], [Row(about=About.KEPT, amount=D(1))], "does not belong"),
    ],
)
def test_what_cannot_be_summed_is_refused(rows: list[Row], pay: list[Row], words: str):
    with pytest.raises(ValueError, match=words):
        year_result(currency=EUR, days=None, rows=rows, pay=pay, minutes={})


@pytest.mark.parametrize(
    ("invoiced", "payments", "losses"),
    [
        (500, [(500, False), (-50, True)], [0, 50]),
        (500, [(550, False), (-50, True)], [0, 0]),
        (500, [(520, False), (-50, True), (-10, True)], [0, 30, 10]),
        # Back before the piece was handed over: the client still owes all of the invoice.
        (500, [(200, False), (-200, False), (500, False)], [0, 0, 0]),
        # What is owed is paid first, then what was given away, then nothing is left to make good.
        (500, [(400, False), (-100, True), (150, False), (80, False)], [0, 100, -50, -50]),
        (0, [(100, False), (-100, True)], [0, 0]),
    ],
)
def test_what_paying_back_took(invoiced: int, payments: list[tuple[int, bool]], losses: list[int]):
    paid = [Paid(amount_minor=amount, is_refund=is_refund) for amount, is_refund in payments]
    assert losses_by_refunds(invoiced, paid) == losses
