"""The fit against the same equations written out in full: a design matrix with every term and every job, solved at once.

Source: Henderson, Biometrics 31, 1975, 423–447 (the mixed model equations), and the steps that `fit` states; numpy.
"""

import math
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from support_studio_simulation import Habits, studio

from quotes.labour.learning import Observation
from quotes.labour.learning.assumptions import Beliefs, labour_beliefs
from quotes.labour.learning.fit import ENOUGH, FAR_REST, ROUNDS, Fit, fit
from quotes.labour.learning.known_before import walk
from quotes.labour.learning.observations import Columns, columns, logged_entries

HABITS = Habits(forgotten_share=0.04, unlogged_share=0.06, scraps_share=0.03, repeat_share=0.6)


def straightforward_fit(table: Columns, on: date, beliefs: Beliefs) -> Fit:
    """Every entry a row of a matrix, every term and every job a column."""
    age = on.toordinal() - table.day
    fade = 0.5 ** (age / beliefs.half_life_days)
    names = [*table.kinds, *table.styles]
    design = np.array(
        [
            [1.0, -days / 365.25, math.log2(entry.repetition), *(float(name in (entry.kind, entry.style)) for name in names)]
            for entry, days in zip(table.entries, age, strict=True)
        ]
    ).reshape(len(age), 3 + len(names))  # fmt: skip
    of_jobs = (table.job[:, None] == np.arange(len(table.jobs))).astype(float)
    job_fade = (of_jobs * fade[:, None]).sum(axis=0) / of_jobs.sum(axis=0)
    spreads = [beliefs.studio_sd, beliefs.trend_sd, beliefs.repeat_sd]
    spreads += [beliefs.kind_sd] * len(table.kinds) + [beliefs.style_sd] * len(table.styles)
    precision, centre = 1 / np.square(spreads), np.zeros(len(spreads))
    centre[2] = math.log(beliefs.repeat_rate)

    ratio = np.log(table.found / table.expected)
    terms, effects = centre.copy(), np.zeros(len(table.jobs))
    if len(ratio):
        terms[0] = np.median(ratio)
        for place in range(len(table.kinds)):
            own = ratio[table.kind == place]
            terms[3 + place] = (np.median(own) - terms[0]) * len(own) / (len(own) + 2)
    entry_variance, job_variance, average_log = beliefs.entry_sd**2, beliefs.job_sd**2, beliefs.entry_sd**2 / 2
    is_long = table.found > beliefs.long_amount
    for _ in range(ROUNDS):
        rest = ratio + average_log - design @ terms - of_jobs @ effects
        is_high = (rest > math.log(beliefs.most_times)) | (is_long & (rest > math.log(beliefs.long_times)))
        is_low = rest < math.log(beliefs.least_share)
        held = np.where(is_high | is_low, 0.0, fade)
        weight = held * (beliefs.tail_freedom + 1) / (beliefs.tail_freedom + rest**2 / entry_variance)
        counted = beliefs.entry_weight + held.sum()
        far = FAR_REST * math.sqrt(entry_variance)
        entry_variance = (beliefs.entry_weight * beliefs.entry_sd**2 + (weight * rest**2).sum()) / counted
        raised = (held * np.exp(np.clip(rest, -far, far))).sum()
        average_log = max(0.0, math.log((beliefs.entry_weight * math.exp(beliefs.entry_sd**2 / 2) + raised) / counted))

        whole = np.hstack([design, of_jobs])
        weighed = whole.T * (weight / entry_variance)
        left = weighed @ whole + np.diag([*precision, *(job_fade / job_variance)])
        right = weighed @ (ratio + average_log) + [*(precision * centre), *np.zeros(len(effects))]
        found = np.linalg.solve(left, right)
        unsure = 1 / np.diag(left)[len(centre) :]
        step = np.abs(found[: len(centre)] - terms).max()
        terms, effects = found[: len(centre)], found[len(centre) :]
        job_variance = (beliefs.job_weight * beliefs.job_sd**2 + job_fade @ (effects**2 + unsure)) / (
            beliefs.job_weight + job_fade.sum()
        )
        if step < ENOUGH:
            break
    return Fit(
        beliefs=beliefs,
        kinds={kind: place for place, kind in enumerate(table.kinds)},
        styles={style: place for place, style in enumerate(table.styles)},
        terms=terms,
        covariance=np.linalg.inv(left)[: len(terms), : len(terms)],
        job_sd=math.sqrt(job_variance),
        average_log=average_log,
        expected=table.found / np.exp(rest),
        is_high=is_high,
        is_low=is_low,
    )


def spread_over_days(rows: tuple[Observation, ...]) -> list[Observation]:
    """As at a real bench: a job's operations are logged on several days, in between those of the next job."""
    return [replace(row, day=date.fromordinal(row.day.toordinal() + 3 * (place % 9))) for place, row in enumerate(rows)]


@pytest.mark.parametrize("seed", range(4))
def test_the_fit_says_what_the_whole_equations_say(seed: int):
    rows = spread_over_days(studio(seed, 16, HABITS).observations)
    table = columns(logged_entries(rows))
    for on in (rows[0].day, rows[40].day, rows[-1].day):
        known = table.before(on)
        found, plain = (way(known, on, labour_beliefs()) for way in (fit, straightforward_fit))
        assert found.terms == pytest.approx(plain.terms, rel=1e-9, abs=1e-9)
        assert found.covariance == pytest.approx(plain.covariance, rel=1e-9, abs=1e-9)
        assert (found.job_sd, found.average_log) == pytest.approx((plain.job_sd, plain.average_log), rel=1e-9)
        assert found.expected == pytest.approx(plain.expected, rel=1e-9)
        assert (found.is_high == plain.is_high).all()
        assert (found.is_low == plain.is_low).all()


def test_past_jobs_are_foretold_as_by_refitting_the_whole_equations(monkeypatch: pytest.MonkeyPatch):
    rows = spread_over_days(studio(5, 20, HABITS).observations)
    table = columns(logged_entries(rows))
    today = fit(table, table.entries[-1].day, labour_beliefs())
    found = walk(rows, table, today, latest=None)
    monkeypatch.setattr("quotes.labour.learning.known_before.fit", straightforward_fit)
    plain = walk(rows, table, today, latest=None)
    assert len(found) == 20
    assert any(job.actual_min != job.learnt_min for job in found)
    for job, by_whole in zip(found, plain, strict=True):
        figures = (by_whole.default_min, by_whole.learnt_min, by_whole.actual_min, by_whole.spread, by_whole.error)
        assert (job.default_min, job.learnt_min, job.actual_min, job.spread, job.error) == pytest.approx(
            figures, rel=1e-9
        )


def test_a_job_of_two_styles_is_refused():
    first = Observation(
        job="1", day=date(2027, 1, 4), operation="CUT", estimated_min=60.0, logged_min=50.0, style="Reed"
    )
    with pytest.raises(ValueError, match="two styles"):
        columns(logged_entries([first, replace(first, operation="PIN", style="Sedge")]))
