"""The fit of materials against closed forms by numpy, with every job effect written out.

Source: the normal posterior (XᵀV⁻¹X + P)⁻¹ XᵀV⁻¹y with V dense (Robinson, Statistical Science 6, 1991, 15–32).
"""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from quotes.labour.learning.assumptions import Beliefs, material_beliefs
from quotes.labour.learning.fit import fit
from quotes.labour.learning.observations import Entry, columns

DAY = date(2027, 1, 4)
KINDS = ("cloth", "cord", "tape")


def entries(seed: int, jobs: int) -> list[Entry]:
    chance = np.random.default_rng(seed)
    return [
        Entry(
            job=f"J{job}",
            day=DAY - timedelta(days=9 * job + place),
            kind=kind,
            expected=float(expected := chance.uniform(0.5, 4)),
            found=float(expected * np.exp(chance.normal(0.05 * place, 0.1))),
        )
        for job in range(jobs)
        for place, kind in enumerate(KINDS)
        if chance.random() < 0.8
    ]


def dense_posterior(rows: list[Entry], beliefs: Beliefs) -> tuple[np.ndarray, np.ndarray]:
    ages = np.array([(DAY - row.day).days for row in rows])
    design = np.array(
        [[1.0, -age / 365.25, *(float(row.kind == kind) for kind in columns(rows).kinds)] for row, age in zip(rows, ages, strict=True)]
    )  # fmt: skip
    fade = 0.5 ** (ages / beliefs.half_life_days)
    jobs = {row.job for row in rows}
    of_job = {job: np.mean([fade[at] for at, row in enumerate(rows) if row.job == job]) for job in jobs}
    spread = np.diag(beliefs.entry_sd**2 / fade)
    for one, row in enumerate(rows):
        for other, second in enumerate(rows):
            spread[one, other] += (row.job == second.job) * beliefs.job_sd**2 / of_job[row.job]
    # The average of a lognormal lies half its variance above its middle.
    aim = np.log([row.found / row.expected for row in rows]) + beliefs.entry_sd**2 / 2
    priors = np.diag(
        np.array([beliefs.studio_sd, beliefs.trend_sd, *[beliefs.kind_sd] * (design.shape[1] - 2)]) ** -2.0
    )
    weighed = np.linalg.solve(spread, design).T
    covariance = np.linalg.inv(weighed @ design + priors)
    return covariance @ (weighed @ aim), covariance


@pytest.mark.parametrize("seed", range(4))
def test_terms_are_the_normal_posterior(seed: int):
    """With spreads held fast and a normal rest."""
    fixed = 1e12
    beliefs = replace(material_beliefs(), job_weight=fixed, entry_weight=fixed, tail_freedom=fixed)
    rows = sorted(entries(seed, 9), key=lambda row: (row.day, row.job, row.kind))
    known = fit(columns(rows), DAY, beliefs)
    terms, covariance = dense_posterior(rows, beliefs)
    assert known.terms == pytest.approx(terms, abs=2e-4)
    assert known.covariance == pytest.approx(covariance, abs=1e-6)


def test_neither_the_order_nor_the_unit_of_length_matters():
    rows = entries(7, 12)
    known = fit(columns(rows), DAY, material_beliefs())
    turned = fit(columns(rows[::-1]), DAY, material_beliefs())
    scaled = [replace(row, expected=row.expected * 0.3, found=row.found * 0.3) for row in rows]
    assert (turned.terms == known.terms).all()
    assert fit(columns(scaled), DAY, material_beliefs()).terms == pytest.approx(known.terms, rel=1e-9, abs=1e-12)
