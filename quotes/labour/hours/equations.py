"""The equations of a fit: the blocks as they look at some terms, and one step nearer to what they say.

The model and its sources stand in `fit.py`; this is its arithmetic.
"""

import math
from dataclasses import dataclass

import numpy as np

from quotes.labour.hours.assumptions import Assumptions
from quotes.labour.hours.columns import Columns, Flags, Floats
from quotes.labour.hours.small_matrices import inverse, product, summed_products

__all__ = ["FIRST_MAKER", "PACE", "Equations", "Look", "Spreads"]

PACE, TREND, FIRST_MAKER = 0, 1, 2
ROUNDS = 25
ENOUGH = 2e-3
MOST_STEP = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spreads:
    """Standard deviations of operations, jobs and luck, and of each operation's step."""

    operation: float
    job: float
    luck: float
    steps: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """The blocks at some terms: how they lean on them, what is left of each, its variance with and without what lies
    between two blocks, whether it is believed, and the weight it has.
    """

    lean: Floats
    rest: Floats
    variance: Floats
    own_variance: Floats
    believed: Flags
    held: Floats


class Equations:
    """The arrays of the first jobs, and one step of the search."""

    def __init__(self, columns: Columns, jobs: int, beliefs: Assumptions, changed: int | None = None) -> None:
        self.columns, self.jobs, self.beliefs, self.changed = columns, jobs, beliefs, changed
        self.blocks = int(columns.block_ends[jobs - 1]) if jobs else 0
        self.claims = int(columns.claim_ends[jobs - 1]) if jobs else 0
        self.job = columns.job[: self.blocks]
        self.minutes = columns.minutes[: self.blocks]
        self.block, self.code = columns.claim_block[: self.claims], columns.claim_code[: self.claims]
        self.claim_min = columns.claim_min[: self.claims]
        self.between = columns.claim_between[: self.claims]
        self.codes = len(columns.codes)
        self.cell = self.block * self.codes + self.code
        self.first_code = FIRST_MAKER + len(columns.makers)
        self.first_job = self.first_code + self.codes
        self.first_step = self.first_job + jobs
        self.terms = self.first_step + (0 if changed is None else self.codes)
        self.is_before = self.job < (0 if changed is None else changed)
        self.starts = np.flatnonzero(np.diff(self.job, prepend=-1))
        number = columns.first_number + np.arange(jobs) + 1
        self.behind = np.log(number / (columns.first_number + jobs + 1))
        self.lean = np.zeros((self.blocks, self.terms))
        self.lean[:, PACE] = 1.0
        self.lean[:, TREND] = self.behind[self.job]
        self.lean[:, FIRST_MAKER : self.first_code] = columns.shares[: self.blocks]
        self.lean[np.arange(self.blocks), self.first_job + self.job] = 1.0
        self.clock = columns.sittings[: self.blocks] * (beliefs.clock_min / np.maximum(self.minutes, 1.0)) ** 2
        back = jobs - np.arange(jobs, dtype=np.float64)
        self.wander = beliefs.walk_sd**2 * np.minimum.outer(back, back)

    def search(self, terms: Floats, spreads: Spreads) -> tuple[Floats, Spreads]:
        """Return the terms and spreads at which nothing moves any more."""
        for _ in range(ROUNDS):
            before = terms
            terms, spreads = self.step(terms, spreads)
            if np.abs(terms - before).max() < ENOUGH:
                break
        return terms, spreads

    def look(self, terms: Floats, spreads: Spreads) -> Look:
        """Return the blocks as they look at these terms."""
        part: Floats = self.claim_min * np.exp(terms[self.first_code : self.first_job])[self.code]
        if self.changed is not None:
            part = part * np.where(self.is_before[self.block], np.exp(terms[self.first_step :])[self.code], 1.0)
        expected = np.bincount(self.block, part, self.blocks)
        of_cells = np.bincount(self.cell, part, self.blocks * self.codes).reshape(self.blocks, self.codes)
        share = of_cells / expected[:, np.newaxis]
        lean = self.lean
        lean[:, self.first_code : self.first_job] = 0.0
        lean[:, self.first_step :] = 0.0
        common = np.einsum("bt,t->b", lean, terms)
        lean[:, self.first_code : self.first_job] = share
        if self.changed is not None:
            lean[:, self.first_step :] = share * self.is_before[:, np.newaxis]
        own_variance = spreads.luck**2 * np.einsum("bc,bc->b", share, share) + self.clock
        variance = own_variance + (np.bincount(self.block, part * self.between, self.blocks) / expected) ** 2 / 3
        rest = np.log(self.minutes / expected) - common + variance / 2
        beliefs = self.beliefs
        # A sitting is long for its work where it is so for what the block's others leave of it.
        longest = self.columns.longest[: self.blocks]
        left = self.minutes * np.exp(-rest) - (self.minutes - longest)
        long = (longest > beliefs.long_sitting_min) & (longest > beliefs.long_times * left)
        believed: Flags = ~(long | (np.abs(rest) > math.log(beliefs.gross_times)))
        freedom = beliefs.tail_freedom
        weight = np.where(believed, (freedom + 1) / (freedom + rest**2 / variance), 0.0)
        return Look(lean, rest, variance, own_variance, believed, weight / variance)

    def precision(self, spreads: Spreads) -> Floats:
        """Return the priors' precision."""
        beliefs = self.beliefs
        priors = np.zeros((self.terms,) * 2)
        own = np.full(self.first_job, spreads.operation**-2)
        own[PACE], own[TREND] = beliefs.pace_sd**-2, beliefs.trend_sd**-2
        own[FIRST_MAKER : self.first_code] = beliefs.maker_sd**-2
        priors[np.arange(self.first_job), np.arange(self.first_job)] = own
        steps = np.arange(self.first_step, self.terms)
        priors[steps, steps] = spreads.steps**-2
        jobs = slice(self.first_job, self.first_step)
        priors[jobs, jobs] = np.linalg.inv(self.wander + np.eye(self.jobs) * spreads.job**2)
        return priors

    def sums(self, look: Look) -> tuple[Floats, Floats]:
        """Return X′WX and X′Wr, where W are the weights of the blocks.

        A job's own column is 1 in its blocks and 0 elsewhere, so sums by job stand for it.
        """
        products, aims = np.zeros((self.terms, self.terms)), np.zeros(self.terms)
        if not self.blocks:
            return products, aims
        jobs = slice(self.first_job, self.first_step)
        others = np.r_[0 : self.first_job, self.first_step : self.terms]
        rows = np.column_stack([look.lean[:, others], look.rest])
        weighted = rows * look.held[:, np.newaxis]
        summed = summed_products(weighted, rows)
        by_job = np.zeros((self.jobs, rows.shape[1]))
        by_job[self.job[self.starts]] = np.add.reduceat(weighted, self.starts)
        products[np.ix_(others, others)] = summed[:-1, :-1]
        products[jobs, others] = by_job[:, :-1]
        products[others, jobs] = by_job[:, :-1].T
        products[jobs, jobs] = np.diag(np.bincount(self.job, look.held, self.jobs))
        aims[others], aims[jobs] = summed[:-1, -1], by_job[:, -1]
        return products, aims

    def step(self, terms: Floats, spreads: Spreads) -> tuple[Floats, Spreads]:
        """Return better terms and spreads."""
        beliefs = self.beliefs
        look = self.look(terms, spreads)
        priors = self.precision(spreads)
        products, aims = self.sums(look)
        covariance = inverse(priors + products)
        move = covariance @ (aims - priors @ terms)
        terms = terms + np.clip(move, -MOST_STEP, MOST_STEP)

        used = len(terms) - float((covariance * priors).sum())
        left = look.rest - product(look.lean, move)
        luck = beliefs.luck_weight * beliefs.luck_sd**2 + spreads.luck**2 * float((look.held * left**2).sum())
        luck /= beliefs.luck_weight + max(float(look.believed.sum()) - used, 0.0)
        squared = terms**2 + np.diag(covariance)
        seen = np.bincount(self.code, minlength=self.codes) > 0
        operation = beliefs.operation_weight * beliefs.operation_sd**2
        operation += float(squared[self.first_code : self.first_job][seen].sum())
        operation /= beliefs.operation_weight + float(seen.sum())
        jobs = slice(self.first_job, self.first_step)
        # The job's own luck, where job effects are wander and luck together.
        own = priors[jobs, jobs] * spreads.job**2
        lucky = own @ terms[jobs]
        unsure = self.jobs * spreads.job**2 - spreads.job**2 * float(np.trace(own))
        unsure += float(((own @ covariance[jobs, jobs]) * own).sum())
        job = beliefs.job_weight * beliefs.job_sd**2 + float(lucky @ lucky) + unsure
        job /= beliefs.job_weight + self.jobs
        steps = beliefs.step_weight * beliefs.step_sd**2 + squared[self.first_step :]
        return terms, Spreads(
            operation=math.sqrt(operation),
            job=math.sqrt(job),
            luck=math.sqrt(luck),
            steps=np.sqrt(steps / (beliefs.step_weight + 1)),
        )
