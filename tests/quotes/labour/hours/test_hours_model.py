"""The model's parts against closed forms: the normal posterior, scipy's distributions, sums that must hold.

Outside the project: the posterior of a normal mean with known spreads (Gelman and others, Bayesian Data Analysis, 2.5);
scipy's normal and Student distributions and its inverse of a matrix.
"""

import json
import math
from dataclasses import fields, replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import linalg, special, stats

import quotes.labour.hours
from quotes.labour.hours import Job, NextJob, Operation, Session, foretell, learn
from quotes.labour.hours.assumptions import Assumptions, assumptions
from quotes.labour.hours.columns import columns_of
from quotes.labour.hours.equations import PACE
from quotes.labour.hours.explanations import EXPLANATIONS, LOST, claims
from quotes.labour.hours.fit import fit
from quotes.labour.hours.foretelling import Guess
from quotes.labour.hours.judging import JudgedJob
from quotes.labour.hours.log import blocks_of
from quotes.labour.hours.missing import RATES, missing_evidence
from quotes.labour.hours.small_matrices import inverse, product, summed_products
from quotes.labour.hours.walk import correction

DAY = date(2026, 1, 5)
HUGE = 1e9


def job(number: int, minutes: dict[str, float], *, estimates: dict[str, float] | None = None) -> Job:
    """A job of a week whose operations were each worked in one sitting; without minutes: done, and never written."""
    begun = DAY + timedelta(days=7 * number)
    return Job(
        name=f"J{number}", begun=begun, delivered=begun + timedelta(days=5),
        operations=tuple(
            Operation(code=code, estimated_min=(estimates or {}).get(code, 100.0)) for code in estimates or minutes
        ),
        sessions=tuple(
            Session(day=begun, minutes=taken, operations=(code,)) for code, taken in minutes.items() if taken
        ),
    )  # fmt: skip


def test_every_assumption_has_its_source() -> None:
    written = json.loads(Path(quotes.labour.hours.__file__).with_name("assumptions.json").read_text(encoding="utf-8"))
    assert set(written) - {"about"} == {row.name for row in fields(Assumptions)}
    assert all(
        set(row) == {"value", "words", "source"} and row["source"] for key, row in written.items() if key != "about"
    )


def test_the_pace_of_one_operation_is_the_normal_posterior() -> None:
    """With known spreads and normal rests: mean = Σ (log ratio + v / 2) / w ÷ (1 / P² + n / w), w = v + job²."""
    beliefs = replace(
        assumptions(), tail_freedom=HUGE, trend_sd=1e-6, walk_sd=1e-6, operation_sd=1e-5, operation_weight=HUGE,
        job_weight=HUGE, luck_weight=HUGE, clock_min=0.0,
    )  # fmt: skip
    ratios = [1.3, 1.1, 1.45, 1.2]
    jobs = [job(at, {"SEW": 100 * ratio}) for at, ratio in enumerate(ratios)]
    columns = columns_of(jobs, [blocks_of(each) for each in jobs], LOST, first_number=0, most_codes=10)
    known = fit(columns, len(jobs), beliefs)
    luck = beliefs.luck_sd**2
    single = luck + beliefs.job_sd**2
    precision = beliefs.pace_sd**-2 + len(ratios) / single
    mean = sum(math.log(ratio) + luck / 2 for ratio in ratios) / single / precision
    assert known.terms[PACE] == pytest.approx(mean, abs=2e-3)
    assert known.covariance[PACE, PACE] == pytest.approx(1 / precision, rel=1e-3)


def test_sittings_that_share_an_operation_are_one_sum() -> None:
    shared = Job(
        name="J", begun=DAY, delivered=DAY,
        operations=tuple(Operation(code=code, estimated_min=10) for code in "ABCDE"),
        sessions=(
            Session(day=DAY, minutes=30, operations=("A", "B")),
            Session(day=DAY, minutes=20, operations=("D",)),
            Session(day=DAY, minutes=12, operations=("B", "C")),
            Session(day=DAY, minutes=0, operations=("E",)),
        ),
    )  # fmt: skip
    assert [(block.places, block.minutes, block.sittings) for block in blocks_of(shared)] == [
        ((0, 1, 2), 42, 2), ((3,), 20, 1),
    ]  # fmt: skip


@given(st.lists(st.booleans(), min_size=1, max_size=12), st.sampled_from(EXPLANATIONS))
def test_an_explanation_puts_each_operation_in_one_place(written: list[bool], explanation: object) -> None:
    """What blocks claim of an operation is all of it or nothing."""
    codes = [f"O{at}" for at in range(len(written))]
    estimates = {code: 10.0 + 7 * at for at, code in enumerate(codes)}
    row = job(0, {code: 30.0 for code, has_time in zip(codes, written, strict=True) if has_time}, estimates=estimates)
    blocks = blocks_of(row)
    claimed = np.zeros(len(codes))
    for claim in claims(explanation, row.worked, blocks):  # type: ignore[arg-type]  # one of EXPLANATIONS
        claimed[claim.place] += claim.share
    assert set(claimed.tolist()) <= {0.0, 1.0}
    assert all(claimed[at] == 1 for at, has_time in enumerate(written) if has_time)


def test_the_evidence_of_a_pattern_is_the_beta_binomial() -> None:
    """Small ones: beta(½ + m, ½ + n − m) ÷ beta(½, ½), by scipy; large ones: an even choice of rates."""
    done, missing = np.array([10.0, 8.0]), np.array([9.0, 1.0])
    small = sum(
        special.betaln(0.5 + m, 0.5 + n - m) - special.betaln(0.5, 0.5) for n, m in zip(done, missing, strict=True)
    )
    assert missing_evidence(math.inf, np.array([5.0, 50.0]), done, missing) == pytest.approx(small + 0.0, abs=1e-9)
    large = np.mean([
        0.9 * rate * (1 - rate) ** 7 + 0.1 * 0.98 * 0.02**7 for rate in RATES
    ])  # fmt: skip
    first = special.betaln(9.5, 1.5) - special.betaln(0.5, 0.5)
    assert missing_evidence(20, np.array([5.0, 50.0]), done, missing) == pytest.approx(
        first + math.log(large), abs=1e-9
    )


@settings(max_examples=8, deadline=None)
@given(st.integers(min_value=1, max_value=160), st.integers(min_value=0, max_value=9))
def test_small_matrices_are_multiplied_and_inverted(side: int, seed: int) -> None:
    drawn = np.random.default_rng(seed).normal(size=(side + 3, side))
    whole = drawn.T @ drawn + np.eye(side)
    assert np.allclose(inverse(whole), linalg.inv(whole), atol=1e-8)
    assert np.allclose(product(drawn, whole), drawn @ whole)
    assert np.allclose(summed_products(drawn, drawn), drawn.T @ drawn)


def test_errors_correct_by_the_conjugate_formulas() -> None:
    """Of equal spreads: bias = Σ error ÷ (n + b); width² = (w × width0² + Σ z²) ÷ (w + n)."""
    beliefs, errors = assumptions(), [0.2, 0.1, 0.3, 0.15]
    found = correction(errors, [0.15] * 4, beliefs)
    bias = sum(errors) / (4 + beliefs.bias_weight)
    squared = sum(((error - bias) / 0.15) ** 2 for error in errors)
    assert found.bias == pytest.approx(bias)
    assert found.width**2 == pytest.approx(
        (beliefs.width_weight * beliefs.width**2 + squared) / (beliefs.width_weight + 4)
    )


@pytest.mark.parametrize("spread", [0.0, 0.1, 0.4])
def test_a_range_holds_what_is_unsure_with_its_chance(spread: float) -> None:
    row = JudgedJob(
        name="J", default_min=100, foretold=Guess(log_min=7.0, spread=0.2), took=Guess(log_min=7.1, spread=spread)
    )
    reach = stats.norm.ppf(0.9) * 0.2
    if spread:
        held = stats.norm.cdf(7 + reach, 7.1, spread) - stats.norm.cdf(7 - reach, 7.1, spread)
    else:
        held = 1.0
        assert row.error == pytest.approx(1 - math.exp(-0.1))
    assert row.held(0.8) == pytest.approx(held)


def test_the_order_of_jobs_does_not_matter() -> None:
    jobs = [job(at, {"CUT": 90.0 + 5 * at, "SEW": 160.0 - 3 * at}) for at in range(8)]
    asked = NextJob(name="next", estimates={"CUT": 80.0, "SEW": 120.0})
    assert foretell(learn(jobs), asked) == foretell(learn(jobs[::-1]), asked)


def test_time_without_a_maker_is_the_workrooms() -> None:
    quick, slow = (
        [job(at, {"SEW": minutes}) for at in range(first, 24, 2)] for first, minutes in ((0, 80.0), (1, 160.0))
    )
    named = [
        replace(row, sessions=tuple(replace(each, maker=maker) for each in row.sessions))
        for maker, rows in (("A", quick), ("B", slow)) for row in rows
    ]  # fmt: skip
    hours = learn(named)
    first, workroom, second = (
        foretell(hours, NextJob(name="", estimates={"SEW": 100.0}, maker=maker)).likely_min for maker in ("A", "", "B")
    )
    assert first < workroom < second
    assert workroom == pytest.approx(math.sqrt(first * second), rel=0.02)
    assert second / first == pytest.approx(2, rel=0.15)


def test_a_day_from_which_operations_go_otherwise_is_found() -> None:
    """Four of six operations take half from the eleventh job on; luck is a fixed pattern of ± 10 %."""
    codes = [f"O{at}" for at in range(6)]
    jobs = [
        job(at, {
            code: 100 * (1.1 if (at * 7 + place * 5) % 4 < 2 else 0.9) * (0.5 if at >= 10 and place < 4 else 1)
            for place, code in enumerate(codes)
        })
        for at in range(20)
    ]  # fmt: skip
    hours = learn(jobs)
    told = next(found for found in hours.findings if found.code == "hours.changed")
    assert "16 March 2026" in told.message
    factors = {row.code: row.factor for row in hours.operations}
    assert factors["O0"] == pytest.approx(0.5, rel=0.12)
    assert factors["O5"] == pytest.approx(1.0, rel=0.12)


def test_a_tool_that_halves_some_of_many_operations_is_seen_in_six_jobs() -> None:
    """Eight of thirty take half from the fifteenth job on; luck is a fixed pattern of up to ± 30 %."""
    codes = [f"O{at}" for at in range(30)]
    jobs = [
        job(at, {
            code: 100 * (0.7 + 0.1 * ((at * 5 + place * 3) % 7)) * (0.5 if at >= 14 and place < 8 else 1)
            for place, code in enumerate(codes)
        })
        for at in range(20)
    ]  # fmt: skip
    hours = learn(jobs)
    assert "hours.changed" in {found.code for found in hours.findings}
    factors = {row.code: row.factor for row in hours.operations}
    assert all(factors[code] == pytest.approx(0.5, rel=0.25) for code in codes[:8])
    assert all(factors[code] == pytest.approx(1.0, rel=0.15) for code in codes[8:])


def test_a_timer_that_ran_on_changes_little() -> None:
    codes = {"CUT": 100.0, "SEW": 110.0, "HEM": 95.0}
    asked = NextJob(name="next", estimates=dict.fromkeys(codes, 100.0))
    jobs = [job(at, codes) for at in range(6)]
    ran_on = [*jobs[:3], job(3, {**codes, "SEW": 720.0}), *jobs[4:]]
    assert foretell(learn(ran_on), asked).likely_min == pytest.approx(foretell(learn(jobs), asked).likely_min, rel=0.02)


def test_rare_operations_share_a_factor_and_cost_nothing() -> None:
    """A notebook may name each operation in its own words; what such a log says of the whole still counts."""
    jobs = [job(at, {f"work {at} {part}": 150.0 for part in range(20)}) for at in range(10)]
    hours = learn(jobs)
    assert len(hours.known.fits[0].columns.codes) == assumptions().most_codes + 1
    asked = NextJob(name="next", estimates={f"new {part}": 100.0 for part in range(20)})
    assert foretell(hours, asked).likely_min == pytest.approx(3000, rel=0.12)


def test_operations_with_most_minutes_keep_a_factor_of_their_own() -> None:
    """Of more operations than have one, two long ones, done now and then, count for more than many short ones."""
    short = {f"short {at}": 6.0 for at in range(60)}
    jobs = [
        job(at, short | ({"BONE": 600.0, "FLOSS": 150.0} if at % 2 else {}), estimates=short | (
            {"BONE": 300.0, "FLOSS": 300.0} if at % 2 else {}
        ))
        for at in range(12)
    ]  # fmt: skip
    factors = {row.code: row.factor for row in learn(jobs).operations}
    assert factors["BONE"] == pytest.approx(2.0, rel=0.1)
    assert factors["FLOSS"] == pytest.approx(0.5, rel=0.1)
