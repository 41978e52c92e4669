"""The fit: what a log says of pace, operations and luck, under one explanation of what is missing in it.

Operation i of job j, whose estimate is e, takes

    m = e × exp(pace + trend × t + maker + operation i + job j + luck),    average of exp(luck) 1,

where t is the logarithm of the job's number less that of the next one's, and job j = wander + its own luck; the wander
is a random walk back from today. A block of operations is their sum, seen through a clock that errs by c at a sitting:

    log(minutes) = log(Σ expected m) − v / 2 + rest,    v = s² × Σ share² + sittings × c² ÷ minutes²,

with the shares that its operations have in what is expected; work that lies somewhere between two blocks adds a third of
its share² to v (a boundary anywhere: 1/12 of the whole, of which each expects half). The rest follows Student's t of variance factor v. All
terms have normal priors about nothing, so thin data leave the table as it is, and an operation leans on the pace before
it leans on the table. The sum is made straight at the last answer and solved anew until nothing moves (Gauss–Newton);
the spreads of operations, jobs and luck are estimated along, each held by so many imagined ones of the spread assumed.
Where it gains enough evidence, every operation has a step besides in the jobs before a change date; what it takes after
it is what counts. Entries gross beyond belief, and long sittings that are long for their work, are left out.

Sources: Lange, Little and Taylor, Journal of the American Statistical Association 84, 1989, 881–896 (t by reweighting);
Dempster, Laird and Rubin, Journal of the Royal Statistical Society B 39, 1977, 1–38 (spreads by expectation and
maximisation); Tierney and Kadane, Journal of the American Statistical Association 81, 1986, 82–86 (evidence by
Laplace's approximation).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quotes.labour.hours.assumptions import Assumptions
from quotes.labour.hours.columns import Columns, Flags, Floats
from quotes.labour.hours.small_matrices import inverse, product, summed_products

__all__ = ["Fit", "fit"]

PACE, TREND, FIRST_MAKER = 0, 1, 2
ROUNDS = 25
ENOUGH = 2e-3
MOST_STEP = 1.0
MOST_PARTS = 100
"""Parts in a job beyond which its luck does not even out further."""
LEAST_JOBS = 3
"""Fewer jobs before a change date cannot tell one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """What is known after so many jobs.

    Attributes:
        terms: pace, trend, makers, operations, jobs, and steps where there are, as natural logarithms; `covariance`
            theirs.
        operation_sd, job_sd, luck_sd: the spreads.
        changed: the job from which several operations go otherwise; their factors are those since then.
        total_bias: by how much the logarithm of whole jobs lies above what their parts add up to.
        evidence: logarithm of the chance of what was written, up to what all explanations share.
        is_believed: of each block.
        seen: of each code, in how many jobs a block claims it; `unseen` in how many it was done and in none.
    """

    beliefs: Assumptions
    columns: Columns
    jobs: int
    terms: Floats
    covariance: Floats
    operation_sd: float
    job_sd: float
    luck_sd: float
    changed: int | None
    total_bias: float
    evidence: float
    is_believed: Flags
    seen: Floats
    unseen: Floats

    @property
    def first_code(self) -> int:
        """Place of the first operation among the terms."""
        return FIRST_MAKER + len(self.columns.makers)

    @property
    def first_job(self) -> int:
        """Place of the first job among the terms."""
        return self.first_code + len(self.columns.codes)

    def place_of(self, code: str) -> int | None:
        """Return the place of a code; None for one that was never done."""
        place = self.columns.place_of.get(code)
        return place if place is not None and self.seen[place] + self.unseen[place] > 0 else None

    def with_pace(self, place: int) -> float:
        """Return how far an operation leans on the pace: one that is done and never written stays as it was planned."""
        return 1.0 if self.unseen[place] < self.beliefs.planned_after else 0.0

    def maker_shares(self, maker: str) -> Floats:
        """Return who makes it: the one named, or all as they usually do; nobody for a name that is new."""
        if not maker:
            return self.columns.usual_shares
        return np.array([1.0 if name == maker else 0.0 for name in self.columns.makers])

    def lean(self, share: Floats, paced: Floats, places: Sequence[int | None], makers: Floats) -> Floats:
        """Return how much a sum leans on each term, where its parts have these shares in it."""
        lean = np.zeros(len(self.terms))
        lean[PACE] = share @ paced
        lean[FIRST_MAKER : self.first_code] = lean[PACE] * makers
        for part, place in zip(share.tolist(), places, strict=True):
            if place is not None:
                lean[self.first_code + place] += part
        return lean


def fit(columns: Columns, jobs: int, beliefs: Assumptions, start: Fit | None = None) -> Fit:
    """Return what the first `jobs` of the columns say; `start` is the fit of fewer of them, to begin nearer."""
    state = _Equations(columns, jobs, beliefs)
    terms = state.start(start)
    spreads = [beliefs.operation_sd, beliefs.job_sd, beliefs.luck_sd]
    if start is not None:
        spreads = [start.operation_sd, start.job_sd, start.luck_sd]
    terms, spreads = state.search(terms, spreads)
    plain = state.answer(terms, spreads)
    changed = state.likely_change(plain)
    if changed is None:
        return plain
    state = _Equations(columns, jobs, beliefs, changed)
    terms, spreads = state.search(np.concatenate([terms, np.zeros(len(columns.codes))]), spreads)
    stepped = state.answer(terms, spreads)
    return stepped if stepped.evidence > plain.evidence + beliefs.step_evidence else plain


class _Equations:
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

    def start(self, known: Fit | None) -> Floats:
        terms = np.zeros(self.terms)
        if known is not None and known.jobs:
            terms[: self.first_job + known.jobs] = known.terms[: self.first_job + known.jobs]
        elif self.blocks:
            expected = np.bincount(self.block, self.claim_min, self.blocks)
            terms[PACE] = float(np.clip(np.median(np.log(self.minutes / expected)), -1, 1))
        return terms

    def search(self, terms: Floats, spreads: list[float]) -> tuple[Floats, list[float]]:
        """Return the terms and spreads at which nothing moves any more."""
        for _ in range(ROUNDS):
            before = terms
            terms, spreads = self.step(terms, spreads)
            if np.abs(terms - before).max() < ENOUGH:
                break
        return terms, spreads

    def look(self, terms: Floats, spreads: list[float]) -> tuple[Floats, Floats, Floats, Flags]:
        """Return lean, rest and variance of each block, and whether it is believed."""
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
        variance = spreads[2] ** 2 * np.einsum("bc,bc->b", share, share) + self.clock
        variance += (np.bincount(self.block, part * self.between, self.blocks) / expected) ** 2 / 3
        rest = np.log(self.minutes / expected) - common + variance / 2
        beliefs = self.beliefs
        # A sitting is long for its work where it is so for what the block's others leave of it.
        longest = self.columns.longest[: self.blocks]
        left = self.minutes * np.exp(-rest) - (self.minutes - longest)
        long = (longest > beliefs.long_sitting_min) & (longest > beliefs.long_times * left)
        believed: Flags = ~(long | (np.abs(rest) > math.log(beliefs.gross_times)))
        return lean, rest, variance, believed

    def precision(self, spreads: list[float]) -> Floats:
        """Return the priors' precision."""
        beliefs = self.beliefs
        priors = np.zeros((self.terms,) * 2)
        own = np.full(self.first_job, spreads[0] ** -2)
        own[PACE], own[TREND] = beliefs.pace_sd**-2, beliefs.trend_sd**-2
        own[FIRST_MAKER : self.first_code] = beliefs.maker_sd**-2
        priors[np.arange(self.first_job), np.arange(self.first_job)] = own
        steps = np.arange(self.first_step, self.terms)
        priors[steps, steps] = beliefs.step_sd**-2
        jobs = slice(self.first_job, self.first_step)
        priors[jobs, jobs] = np.linalg.inv(self.wander + np.eye(self.jobs) * spreads[1] ** 2)
        return priors

    def sums(self, lean: Floats, held: Floats, rest: Floats) -> tuple[Floats, Floats]:
        """Return X′WX and X′Wr, where W are the weights `held`.

        A job's own column is 1 in its blocks and 0 elsewhere, so sums by job stand for it.
        """
        products, aims = np.zeros((self.terms, self.terms)), np.zeros(self.terms)
        if not self.blocks:
            return products, aims
        jobs = slice(self.first_job, self.first_step)
        others = np.r_[0 : self.first_job, self.first_step : self.terms]
        rows = np.column_stack([lean[:, others], rest])
        weighted = rows * held[:, np.newaxis]
        summed = summed_products(weighted, rows)
        by_job = np.zeros((self.jobs, rows.shape[1]))
        by_job[self.job[self.starts]] = np.add.reduceat(weighted, self.starts)
        products[np.ix_(others, others)] = summed[:-1, :-1]
        products[jobs, others] = by_job[:, :-1]
        products[others, jobs] = by_job[:, :-1].T
        products[jobs, jobs] = np.diag(np.bincount(self.job, held, self.jobs))
        aims[others], aims[jobs] = summed[:-1, -1], by_job[:, -1]
        return products, aims

    def step(self, terms: Floats, spreads: list[float]) -> tuple[Floats, list[float]]:
        """Return better terms and spreads."""
        beliefs = self.beliefs
        lean, rest, variance, believed = self.look(terms, spreads)
        freedom = beliefs.tail_freedom
        weight = np.where(believed, (freedom + 1) / (freedom + rest**2 / variance), 0.0)
        priors = self.precision(spreads)
        products, aims = self.sums(lean, weight / variance, rest)
        covariance = inverse(priors + products)
        move = covariance @ (aims - priors @ terms)
        terms = terms + np.clip(move, -MOST_STEP, MOST_STEP)

        used = len(terms) - float((covariance * priors).sum())
        left = rest - lean @ move
        luck = beliefs.luck_weight * beliefs.luck_sd**2 + spreads[2] ** 2 * float((weight * left**2 / variance).sum())
        luck /= beliefs.luck_weight + max(float(believed.sum()) - used, 0.0)
        codes = slice(self.first_code, self.first_job)
        seen = np.bincount(self.code, minlength=self.codes) > 0
        spread = terms[codes] ** 2 + np.diag(covariance)[codes]
        operation = beliefs.operation_weight * beliefs.operation_sd**2 + float(spread[seen].sum())
        operation /= beliefs.operation_weight + float(seen.sum())
        jobs = slice(self.first_job, self.first_step)
        # The job's own luck, where job effects are wander and luck together.
        own = priors[jobs, jobs] * spreads[1] ** 2
        lucky = own @ terms[jobs]
        unsure = self.jobs * spreads[1] ** 2 - spreads[1] ** 2 * float(np.trace(own))
        unsure += float(((own @ covariance[jobs, jobs]) * own).sum())
        job = beliefs.job_weight * beliefs.job_sd**2 + float(lucky @ lucky) + unsure
        job /= beliefs.job_weight + self.jobs
        return terms, [math.sqrt(operation), math.sqrt(job), math.sqrt(luck)]

    def likely_change(self, known: Fit) -> int | None:
        """Return the job from which operations most likely go otherwise, or None where none gains enough.

        Steps d of the operations, d ~ N(0, step²), put into the equations as they stand, gain the evidence
        ½ u′(1/step² + M)⁻¹u − ½ log|1 + step² M|, with u = S′Wr and M = S′WS − S′WX C X′WS.
        """
        if self.jobs < 2 * LEAST_JOBS:
            return None
        beliefs = self.beliefs
        lean, rest, variance, believed = self.look(known.terms, [known.operation_sd, known.job_sd, known.luck_sd])
        freedom = beliefs.tail_freedom
        weight = np.where(believed, (freedom + 1) / (freedom + rest**2 / variance), 0.0) / variance
        share = lean[:, self.first_code : self.first_job]
        ends = self.columns.block_ends[: self.jobs]
        gains = []
        score, crossed, first = np.zeros(self.codes), np.zeros((self.codes, self.terms)), 0
        for job in range(1, self.jobs - 1):
            blocks, first = slice(first, int(ends[job - 1])), int(ends[job - 1])
            held = share[blocks] * weight[blocks, np.newaxis]
            score += held.T @ rest[blocks]
            crossed += held.T @ lean[blocks]
            if job < LEAST_JOBS:
                continue
            whole = crossed[:, self.first_code : self.first_job] - product(
                product(crossed, known.covariance), crossed.T
            )
            whole[np.arange(self.codes), np.arange(self.codes)] += beliefs.step_sd**-2
            gain = float(score @ np.linalg.solve(whole, score)) / 2
            gain -= (np.linalg.slogdet(whole)[1] + 2 * self.codes * math.log(beliefs.step_sd)) / 2
            gains.append((gain, job))
        gain, job = max(gains)
        return job if gain > beliefs.step_evidence else None

    def total_bias(self, rest: Floats, variance: Floats, believed: Flags, spreads: list[float]) -> float:
        """Return by how much whole jobs lie above what their parts add up to, shrunk toward nothing.

        Of each job D = log(Σ minutes) − log(Σ expected) + ½ V over its believed blocks, where V is the spread² of that
        difference by luck alone; bias = Σ D ÷ V ÷ (Σ 1 ÷ V + 1 ÷ b²). Totals hardly mind which operation a minute was
        written for, so they overrule the parts; the job's own luck is in what is expected, and so in neither.
        """
        expected = self.minutes * np.exp(variance / 2 - rest) * believed
        minutes = np.bincount(self.job, self.minutes * believed, self.jobs)
        whole = np.bincount(self.job, expected, self.jobs)
        by_luck = np.bincount(self.job, expected**2 * variance, self.jobs)
        told = whole > 0
        spread = by_luck[told] / whole[told] ** 2
        apart = np.log(minutes[told] / whole[told]) + spread / 2
        held = 1 / np.maximum(spread, spreads[2] ** 2 / MOST_PARTS)
        return float((held * apart).sum() / (held.sum() + self.beliefs.total_sd**-2))

    def answer(self, terms: Floats, spreads: list[float]) -> Fit:
        """Return the fit at these terms."""
        beliefs = self.beliefs
        lean, rest, variance, believed = self.look(terms, spreads)
        freedom = beliefs.tail_freedom
        weight = np.where(believed, (freedom + 1) / (freedom + rest**2 / variance), 0.0)
        priors = self.precision(spreads)
        whole = priors + self.sums(lean, weight / variance, rest)[0]
        chance = (
            math.lgamma((freedom + 1) / 2)
            - math.lgamma(freedom / 2)
            - (np.log(freedom * math.pi * variance) + (freedom + 1) * np.log1p(rest**2 / variance / freedom)) / 2
        )
        gross = math.log(beliefs.gross_chance / (2 * math.log(beliefs.gross_times)))
        evidence = float(np.where(believed, np.logaddexp(chance, gross), gross).sum())
        evidence -= float(terms @ priors @ terms) / 2
        evidence += (np.linalg.slogdet(priors)[1] - np.linalg.slogdet(whole)[1]) / 2
        for found, expected, held in zip(
            spreads,
            (beliefs.operation_sd, beliefs.job_sd, beliefs.luck_sd),
            (beliefs.operation_weight, beliefs.job_weight, beliefs.luck_weight),
            strict=True,
        ):
            evidence -= held / 2 * ((expected / found) ** 2 - 1 + 2 * math.log(found / expected))
        held_by = believed[self.block]
        job_of_claim = self.job[self.block[held_by]]
        pairs = np.unique(job_of_claim * self.codes + self.code[held_by])
        seen = np.bincount(pairs % self.codes, minlength=self.codes).astype(np.float64)
        lost = [part.codes for part in self.columns.lost[: self.jobs]]
        unseen = np.bincount(np.concatenate([np.zeros(0, np.int64), *lost]), minlength=self.codes).astype(np.float64)
        return Fit(
            beliefs=beliefs,
            columns=self.columns,
            jobs=self.jobs,
            terms=terms,
            covariance=inverse(whole),
            operation_sd=spreads[0],
            job_sd=spreads[1],
            luck_sd=spreads[2],
            changed=self.changed,
            total_bias=self.total_bias(rest, variance, believed, spreads),
            evidence=evidence,
            is_believed=believed,
            seen=seen,
            unseen=np.where(seen > 0, 0.0, unseen),
        )
