"""Use by week against a plain loop and the published weeks of ISO 8601."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.replenish.watch import HISTORY_WEEKS, Use, weekly_use


def used(day: date, quantity: int, material: str = "CORD") -> Use:
    return Use(material=material, day=day, quantity=Decimal(quantity))


def test_weeks_end_with_the_day_and_include_it():
    until = date(2027, 3, 3)
    history = [used(until - timedelta(days=ago), 10**place) for place, ago in enumerate([-1, 0, 6, 7, 13, 14, 20, 21])]
    assert weekly_use(history, until=until)["CORD"].tolist() == [10_000_000, 1_100_000, 11_000, 110]


def test_what_came_back_lessens_its_week_and_no_more():
    until = date(2027, 3, 7)
    history = [used(date(2027, 3, 2), 5), used(date(2027, 3, 4), -2), used(date(2027, 2, 23), -4)]
    assert weekly_use(history, until=until)["CORD"].tolist() == [0, 3]


@pytest.mark.parametrize(
    ("day", "sunday"),
    [("2008-12-29", "2009-W01-7"), ("2010-01-03", "2009-W53-7"), ("2026-11-25", "2026-W48-7")],
)
def test_weeks_that_end_with_a_sunday_are_those_of_iso_8601(day: str, sunday: str):
    """The usual published examples of the ISO week: 2009-W01-1, 2009-W53-7, 2026-W48-3."""
    until = date.fromisoformat(sunday)
    history = [
        used(date.fromisoformat(day), 5),
        used(until - timedelta(days=7), 3),
        used(until + timedelta(days=1), 9),
    ]
    assert weekly_use(history, until=until)["CORD"].tolist() == [3, 5]


def test_what_was_used_two_years_ago_is_forgotten():
    until = date(2027, 3, 7)
    weeks = timedelta(weeks=HISTORY_WEEKS)
    assert weekly_use([used(until - weeks, 5)], until=until) == {}
    assert len(weekly_use([used(until - weeks + timedelta(days=1), 5)], until=until)["CORD"]) == HISTORY_WEEKS


def test_a_material_that_came_later_than_chance_explains_begins_with_its_own_use():
    """Used in each of its four weeks: a gap of more than three intervals before the first of them is no chance."""
    until = date(2027, 3, 7)
    old = [used(until - timedelta(weeks=19), 1, "OLD")]
    late = [used(until - timedelta(weeks=ago), 1, "LATE") for ago in range(4)]
    early = [used(until - timedelta(weeks=ago), 1, "EARLY") for ago in range(17)]
    lengths = {code: len(series) for code, series in weekly_use([*old, *late, *early], until=until).items()}
    assert lengths == {"OLD": 20, "LATE": 4, "EARLY": 20}


DAYS = st.dates(date(2026, 9, 1), date(2027, 1, 10))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from("ABCD"), DAYS, st.integers(-5, 2**40)), max_size=25), DAYS)
def test_series_are_those_of_a_plain_loop(rows: list[tuple[str, date, int]], until: date):
    """Each row put into its week one by one; before its own first use a material has no use."""
    expected: dict[str, dict[int, int]] = {}
    for material, day, quantity in rows:
        if day <= until:
            of_week = expected.setdefault(material, {})
            week = (until - day).days // 7
            of_week[week] = of_week.get(week, 0) + quantity
    found = weekly_use([used(day, quantity, material) for material, day, quantity in rows], until=until)
    assert found.keys() == {material for material, weeks in expected.items() if max(weeks.values()) > 0}
    for material, series in found.items():
        weeks = [max(0, expected[material].get(ago, 0)) for ago in reversed(range(len(series)))]
        assert series.tolist() == weeks
        assert len(series) > max(expected[material])
