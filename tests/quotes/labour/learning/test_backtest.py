"""The backtest against hidden truth in simulated workrooms, figures by hand, and what it must never know."""

import math
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from statistics import fmean

import pytest
from support_studio_simulation import Habits, studio

from quotes.labour.learning import Observation, backtest, calibrate, learning_document, predict, proposals
from quotes.labour.standard import default_times

DAY = date(2027, 1, 4)
FAULTY = Habits(forgotten_share=0.04, unlogged_share=0.06, scraps_share=0.03, repeat_share=0.3)


def seen(
    job: str, minutes: float | None, *, operation: str = "CUT", estimated: float = 100.0, day: int = 0
) -> Observation:
    return Observation(
        job=job, day=DAY + timedelta(days=day), operation=operation, estimated_min=estimated, logged_min=minutes
    )


def test_the_range_holds_four_of_five_jobs_over_four_hundred():
    hidden = studio(21, 400, replace(FAULTY, days_between=7, drift_per_year=-0.04, repeat_share=0.0))
    few = {"CONS", "DRAFT", "FIT", "CUT", "PIN", "PRESS", "BUSK", "GROM", "BINDH", "FIN"}
    judged = backtest([entry for entry in hidden.observations if entry.operation in few])
    assert judged.jobs > 390
    assert judged.coverage_80 is not None
    assert 0.75 <= judged.coverage_80 <= 0.85


def test_it_holds_as_often_in_young_workrooms_and_learnt_minutes_foretell_better_than_the_table():
    judged = [backtest(studio(seed, 34, FAULTY).observations) for seed in range(12)]
    held = [row.is_held for found in judged for row in found.rows]
    assert len(held) > 400
    assert 0.75 <= fmean(held) <= 0.85
    assert fmean(found.mape_learnt for found in judged) < 0.65 * fmean(found.mape_default for found in judged)


def test_what_was_spent_in_truth_lies_in_the_range_of_the_next_job_as_often():
    """The whole job as it was spent, not as it was logged."""
    held = []
    for seed in range(60):
        hidden = studio(seed, 8, FAULTY)
        job = hidden.jobs[-1]
        past = [entry for entry in hidden.observations if entry.day < job.day]
        estimate = predict(
            job.table_min, calibrate(past, on=job.day), allowance_share=0.0, style=job.style, repetition=job.repetition
        )
        held.append(estimate.low_min <= sum(job.spent_min.values()) <= estimate.high_min)
    assert fmean(held) == pytest.approx(0.80, abs=2 * math.sqrt(0.8 * 0.2 / 60))


def test_a_job_is_foretold_only_from_what_was_known_before_it():
    hidden = studio(8, 24, Habits(repeat_share=0.5))
    early = hidden.jobs[:12]
    full = backtest(hidden.observations).rows[:12]
    short = backtest([entry for job in early for entry in job.observations]).rows
    assert len(short) == 12
    for one, other in zip(short, full, strict=True):
        assert one.judged.learnt_min == pytest.approx(other.judged.learnt_min, rel=1e-9)
        assert (one.low_min, one.high_min) == pytest.approx((other.low_min, other.high_min), rel=1e-9)
    assert short[0].judged.learnt_min == pytest.approx(short[0].judged.default_min)


def test_jobs_of_the_same_day_know_nothing_of_each_other():
    judged = backtest([seen("1", 200.0), seen("2", 200.0), seen("3", 200.0, day=1)])
    assert [row.judged.learnt_min == pytest.approx(100.0) for row in judged.rows] == [True, True, False]


def test_a_job_knows_nothing_of_what_others_took_while_its_first_operation_lasted():
    """Begun on the first day and logged on until the tenth, it was estimated before the other job was seen."""
    slow = Observation(
        job="2", day=DAY + timedelta(days=10), begun=DAY, operation="CUT", estimated_min=100.0, logged_min=200.0
    )
    judged = backtest([seen("1", 200.0, day=5), slow])
    assert [row.judged.job for row in judged.rows] == ["2", "1"]
    assert [row.judged.learnt_min for row in judged.rows] == pytest.approx([100.0, 100.0])
    with pytest.raises(ValueError, match="begins before it ends"):
        replace(slow, begun=DAY + timedelta(days=11))


def test_a_job_still_open_on_that_day_lends_its_entries_and_not_its_error():
    first = [seen("1", 200.0), seen("1", 200.0, operation="PIN", day=9)]
    judged = backtest([*first, seen("2", 150.0, day=5)])
    alone = backtest([seen("2", 150.0, day=5)])
    assert judged.rows[1].judged.learnt_min > 100
    assert math.log(judged.rows[1].high_min / judged.rows[1].judged.learnt_min) / judged.rows[1].judged.spread == (
        pytest.approx(math.log(alone.rows[0].high_min / alone.rows[0].judged.learnt_min) / alone.rows[0].judged.spread)
    )


def test_mean_absolute_percentage_error_by_hand():
    # The table says 100 twice; 125 and 80 were taken: 20 % and 25 % of what was taken.
    judged = backtest([seen("1", 125.0), seen("2", 80.0)])
    assert judged.mape_default == pytest.approx((0.20 + 0.25) / 2)
    assert judged.mape_learnt == pytest.approx(judged.mape_default)


def test_forgotten_timers_and_jobs_hardly_logged_are_not_judged():
    rows = [seen(str(job), 100.0, day=job) for job in range(6)]
    forgotten = [seen("8", 100.0, day=8), seen("8", 720.0, operation="PIN", estimated=30.0, day=8)]
    silent = [seen("9", 10.0, operation="PIN", estimated=10.0, day=9), seen("9", None, day=9)]
    judged = backtest([*rows, *forgotten, *silent])
    assert [row.judged.job for row in judged.rows] == ["0", "1", "2", "3", "4", "5", "8"]
    assert judged.rows[-1].judged.actual_min == 100.0
    assert judged.mape_default == 0.0


@pytest.mark.parametrize(
    "rows", [[], [seen("1", None)], [seen("1", None), seen("1", 5.0, operation="PIN", estimated=5.0)]]
)
def test_nothing_to_judge(rows: list[Observation]):
    judged = backtest(rows)
    assert (judged.jobs, judged.mape_default, judged.mape_learnt, judged.coverage_80) == (0, None, None, None)


def test_document_has_the_promised_keys_and_exact_money():
    hidden = studio(2, 20, Habits())
    changes = proposals(calibrate(hidden.observations, on=hidden.jobs[-1].day), default_times())
    assert len(changes) > 3
    priced = [replace(changes[0], effect_on_price=Decimal("12.50")), *changes[1:]]
    document = learning_document(backtest(hidden.observations), priced)
    assert list(document) == ["jobs", "mape_default", "mape_learnt", "coverage_80", "proposals"]
    assert document["jobs"] == 20
    assert 0 < document["mape_learnt"] < document["mape_default"] < 1
    assert list(document["proposals"][0]) == ["operation", "default_min", "learnt_min", "entries", "effect_on_price"]
    assert document["proposals"][0]["effect_on_price"] == "12.50"
    assert document["proposals"][1]["effect_on_price"] is None
    assert learning_document(backtest([]), []) == {
        "jobs": 0, "mape_default": None, "mape_learnt": None, "coverage_80": None, "proposals": [],
    }  # fmt: skip
