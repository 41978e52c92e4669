"""Hours present against the log: means and ranges by scipy; what share is usual is common practice, no source."""

import math
from datetime import date, timedelta
from statistics import fmean, stdev

import pytest
from scipy import stats

from inventory.ground.findings import Severity
from quotes.labour.hours import PresentDay
from quotes.labour.hours.presence import presence_finding

DAY = date(2027, 1, 4)


def days(*shares: float) -> list[PresentDay]:
    return [
        PresentDay(day=DAY + timedelta(days=at), present_min=400.0, logged_min=400.0 * share)
        for at, share in enumerate(shares)
    ]


@pytest.mark.parametrize("count", [0, 1, 4])
def test_few_days_are_no_witness(count: int):
    found = presence_finding(days(*[0.5] * count))
    assert (found.code, found.severity) == ("hours.unseen-share", Severity.NOTE)
    assert (f"known of {count}" in found.hint) == bool(count)


def test_much_unlogged_is_told_with_its_range():
    shares = [0.5, 0.6, 0.7, 0.55, 0.65, 0.6]
    found = presence_finding(days(*shares))
    reach = stats.t.ppf(0.9, 5) * stdev(shares) * math.sqrt(1 + 1 / 6)
    low, high = (round(100 * (fmean(shares) + by)) for by in (-reach, reach))
    assert found.severity is Severity.WARN
    assert found.message == (
        f"On 6 days with hours present noted, 60 % of them was logged, 8 days in 10 between {low} % and {high} %."
    )


def test_breaks_are_no_fault():
    found = presence_finding(days(0.8, 0.9, 0.85, 0.75, 1.4))
    assert (found.code, found.severity) == ("hours.present", Severity.NOTE)
    assert "86 %" in found.message
