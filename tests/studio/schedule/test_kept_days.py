"""Kept days counted and judged, against the exact test and interval of scipy."""

from datetime import date, timedelta

import pytest
from scipy.stats import binomtest

from studio.schedule.kept_days import FEWEST_JUDGED, FinishedJob, KeptCount, Standing, kept_counts

DAY = date(2027, 3, 10)
ONE_DAY = timedelta(days=1)


def job(name: str, late: int, promised: date | None = None) -> FinishedJob:
    """Likely on the tenth, surely on the fourteenth, finished so many days after the tenth."""
    return FinishedJob(job=name, day_50=DAY, day_90=DAY + 4 * ONE_DAY, promised=promised, finished=DAY + late * ONE_DAY)


def test_days_are_counted_the_day_itself_included():
    jobs = [job("A", 0), job("B", 1, DAY), job("C", 4, DAY + 9 * ONE_DAY), job("D", 5), job("E", -8, DAY)]
    counts = kept_counts(jobs)
    assert [(count.kept, count.of, count.share) for count in counts] == [(2, 5, 0.5), (4, 5, 0.9), (2, 3, None)]


@pytest.mark.parametrize("of", [5, 12, 20, 40, 90])
@pytest.mark.parametrize("share", [0.5, 0.9])
def test_a_count_is_off_just_where_the_exact_interval_leaves_the_share_out(of: int, share: float):
    for kept in range(of + 1):
        interval = binomtest(kept, of, share).proportion_ci(0.95, "exact")
        expected = Standing.AS_SAID
        if interval.high < share:
            expected = Standing.TOO_SELDOM
        elif interval.low > share:
            expected = Standing.TOO_OFTEN
        assert KeptCount(kept=kept, of=of, share=share).standing is expected, kept


def test_of_too_few_nothing_is_said_and_promised_days_have_no_share_to_keep():
    assert KeptCount(kept=0, of=FEWEST_JUDGED - 1, share=0.9).standing is Standing.TOO_FEW
    assert KeptCount(kept=0, of=FEWEST_JUDGED, share=0.9).standing is Standing.TOO_SELDOM
    assert KeptCount(kept=0, of=FEWEST_JUDGED, share=None).standing is Standing.AS_SAID
