"""The year's result is that of a plain walk over every movement, entry and payment, whatever happened in the years.

Outside: the walk of `support_year`, in fractions and loops, without any query of the books (common practice, no source).
"""

from datetime import date

import pytest
from django.contrib.auth.models import User
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import given as examples_of
from hypothesis import strategies as st
from support_year import ACTS, Years, accepted, price_in, rebuilt

from quotes.models import PatternRevision, QuoteRevision
from studio.books.year import result_of_year

BEGIN = date(2024, 11, 3)
YEARS = (2024, 2025, 2026)
ACT = st.tuples(st.sampled_from(ACTS), st.integers(0, 40), st.integers(0, 11), st.integers(1, 1500))
BEFORE = [("receive", 0, 0, 900), ("receive", 0, 1, 80), ("begin", 1, 0, 1), ("begin", 0, 1, 1)]
"""What there is to act upon."""


@pytest.fixture(params=["EUR", "JPY", "KWD"])
def quotes(request: pytest.FixtureRequest, books: User, pattern: PatternRevision) -> list[QuoteRevision]:
    """Four accepted quotes of a workroom that is kept in a currency."""
    price_in(request.param)
    return accepted(pattern, [1, 2, 3, 4])


def agree(years: Years) -> None:
    """Each year: line by line, pay and hours, and all that follows from them."""
    for year in YEARS:
        with years.clock():
            found = result_of_year(year, on=years.today)
        minor = found.currency.to_minor
        lines = {line.line.value: minor(line.amount) for line in found.lines}
        anew = rebuilt(year, on=years.today)
        assert lines == {name: anew["lines"].get(name, 0) for name in lines}, year
        assert anew["lines"].keys() <= lines.keys()
        assert (minor(found.paid), found.worked_min) == (anew["pay"], anew["minutes"])
        assert minor(found.result) == sum(anew["lines"].values())
        assert minor(found.left) == sum(anew["lines"].values()) + anew["pay"]
        for line in found.lines:
            assert line.amount == sum(row.amount for row in line.rows)


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@examples_of(acts=st.lists(ACT, min_size=15, max_size=45))
def test_random_years_come_to_what_their_rows_say(quotes: list[QuoteRevision], books: User, acts: list):
    with transaction.atomic():
        years = Years(books, quotes, begin=BEGIN)
        years.live([*BEFORE, *acts])
        agree(years)
        transaction.set_rollback(True)


ALL_THAT_CAN_HAPPEN = [
    *(("work", 3, 0, 371), ("work", 1, 0, 95), ("work", 1, 1, 200), ("issue", 2, 0, 700), ("issue", 0, 1, 33)),
    *(("pay", 0, 0, 400), ("pay", 0, 1, 333), ("issue-to-nobody", 1, 0, 120), ("issue-to-nobody", 1, 1, 7)),
    *(("spoil", 2, 2, 31), ("spoil", 0, 0, 30), ("scrap", 5, 0, 44), ("count", 5, 1, 3), ("count", 1, 0, 55)),
    *(
        ("deliver", 12, 0, 7),
        ("give-back", 0, 0, 22),
        ("issue", 1, 0, 50),
        ("pay", 0, 0, 900),
        ("pay-back", 3, 0, 1500),
    ),
    *(
        ("pay-back", 0, 0, 1400),
        ("lower-price", 1, 0, 12),
        ("lower-price", 1, 0, 31),
        ("put-price-back", 1, 1, 0),
        ("reverse", 1, 3, 0),
        ("issue-for-purpose", 1, 2, 9),
        ("give-up", 30, 0, 1),
        ("pay-back", 20, 1, 5),
        ("give-back", 1, 1, 8),
        ("close", 1, 0, 0),
        ("close", 20, 0, 0),
    ),
    *(("close", 20, 0, 0), ("close", 20, 0, 0), ("issue", 1, 0, 40), ("pay", 1, 0, 15), ("issue-to-nobody", 0, 4, 9)),
    *(("lower-price", 1, 0, 21), ("issue-for-purpose", 1, 0, 4)),
    *(("begin", 1, 0, 1), ("work", 1, 0, 60), ("correct", 1, 0, 30), ("give-back-from-nobody", 1, 0, 10)),
]


def test_all_that_can_happen_is_in_one_year_or_the_other(quotes: list[QuoteRevision], books: User):
    """Every line has something in it, so that the walk above has met each."""
    years = Years(books, quotes, begin=BEGIN)
    years.live([*BEFORE, *ALL_THAT_CAN_HAPPEN])
    agree(years)
    with years.clock():
        lines = [line for year in YEARS for line in result_of_year(year, on=years.today).lines]
    assert {line.line.value for line in lines if line.amount} == {line.line.value for line in lines}
