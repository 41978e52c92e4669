"""The fit: what a log says of pace, operations and luck, under one explanation of what is missing in it.

Operation i of job j, whose estimate is e, takes

    m = e × exp(pace + trend × t + maker + operation i + job j + luck),    average of exp(luck) 1,

where t is the logarithm of the job's number less that of the next one's, and job j = wander + its own luck; the wander
is a random walk back from today. A block of operations is their sum, seen through a clock that errs by c at a sitting:

    log(minutes) = log(Σ expected m) − v / 2 + rest,    v = s² × Σ share² + sittings × c² ÷ minutes²,

with the shares that its operations have in what is expected; work that lies somewhere between two blocks adds a third of
its share² to v (a boundary anywhere: 1/12 of the whole, of which each expects half). The rest follows Student's t of
variance factor v. All terms have normal priors about nothing, so thin data leave the table as it is, and an operation
leans on the pace before it leans on the table. The sum is made straight at the last answer and solved anew until nothing
moves (Gauss–Newton); the spreads of operations, jobs and luck are estimated along, each held by so many imagined ones of
the spread assumed. Where it gains enough evidence, every operation has a step besides in the jobs before a change date,
of a spread of its own, as most hardly step and a few step far; what it takes after that date is what counts. Entries
gross beyond belief, and long sittings that are long for their work, are left out.

Sources: Lange, Little and Taylor, Journal of the American Statistical Association 84, 1989, 881–896 (t by reweighting);
Dempster, Laird and Rubin, Journal of the Royal Statistical Society B 39, 1977, 1–38 (spreads by expectation and
maximisation); Tierney and Kadane, Journal of the American Statistical Association 81, 1986, 82–86 (evidence by
Laplace's approximation); Tipping, Journal of Machine Learning Research 1, 2001, 211–244 (a spread of each term's own).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

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
class Spreads:
    """Standard deviations of operations, jobs and luck, and of each operation's step."""

    operation: float
    job: float
    luck: float
    steps: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """What is known after so many jobs.

    Attributes:
        terms: pace, trend, makers, operations, jobs, and steps where there are, as natural logarithms; `covariance`
            theirs.
        spreads: of operations, jobs, luck and steps.
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
    spreads: Spreads
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
    no_steps = np.zeros(0)
    spreads = Spreads(operation=beliefs.operation_sd, job=beliefs.job_sd, luck=beliefs.luck_sd, steps=no_steps)
    if start is not None:
        spreads = replace(start.spreads, steps=no_steps)
    terms, spreads = state.search(terms, spreads)
    plain = state.answer(terms, spreads)
    changed = state.likely_change(plain)
    if changed is None:
        return plain
    state = _Equations(columns, jobs, beliefs, changed)
    spreads = replace(spreads, steps=np.full(len(columns.codes), beliefs.step_sd))
    terms, spreads = state.search(np.concatenate([terms, np.zeros(len(columns.codes))]), spreads)
    stepped = state.answer(terms, spreads)
    return stepped if stepped.evidence > plain.evidence + beliefs.step_evidence else plain


@dataclass(frozen=True, slots=True, eq=False)
class _Look:
    """The blocks at some terms: how they lean on them, what is left of each, its variance with and without what lies
    between two blocks, whether it is believed, and the weight it has.
    """

    lean: Floats
    rest: Floats
    variance: Floats
    own_variance: Floats
    believed: Flags
    held: Floats


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

    def search(self, terms: Floats, spreads: Spreads) -> tuple[Floats, Spreads]:
        """Return the terms and spreads at which nothing moves any more."""
        for _ in range(ROUNDS):
            before = terms
            terms, spreads = self.step(terms, spreads)
            if np.abs(terms - before).max() < ENOUGH:
                break
        return terms, spreads

    def look(self, terms: Floats, spreads: Spreads) -> _Look:
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
        return _Look(lean, rest, variance, own_variance, believed, weight / variance)

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

    def sums(self, look: _Look) -> tuple[Floats, Floats]:
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

    def likely_change(self, known: Fit) -> int | None:
        """Return the job from which operations most likely go otherwise, or None where none gains enough.

        Steps d of the operations, d ~ N(0, step²), put into the equations as they stand, gain the evidence
        ½ u′(1/step² + M)⁻¹u − ½ log|1 + step² M|, with u = S′Wr and M = S′WS − S′WX C X′WS.
        """
        if self.jobs < 2 * LEAST_JOBS:
            return None
        beliefs = self.beliefs
        look = self.look(known.terms, known.spreads)
        share = look.lean[:, self.first_code : self.first_job]
        ends = self.columns.block_ends[: self.jobs]
        gains = []
        score, crossed, first = np.zeros(self.codes), np.zeros((self.codes, self.terms)), 0
        for job in range(1, self.jobs - 1):
            blocks, first = slice(first, int(ends[job - 1])), int(ends[job - 1])
            held = share[blocks] * look.held[blocks, np.newaxis]
            score += held.T @ look.rest[blocks]
            crossed += summed_products(held, look.lean[blocks])
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

    def total_bias(self, look: _Look, luck_sd: float) -> float:
        """Return by how much whole jobs lie above what their parts add up to, shrunk toward nothing.

        Of each job D = log(Σ minutes) − log(Σ expected) + ½ V over its believed blocks, where V is the spread² of that
        difference by luck alone; bias = Σ D ÷ V ÷ (Σ 1 ÷ V + 1 ÷ b²). Totals do not mind which operation, nor which of
        two blocks, a minute was written for, so they overrule the parts; the job's own luck is in what is expected, and
        so in neither.
        """
        expected = self.minutes * np.exp(look.variance / 2 - look.rest) * look.believed
        minutes = np.bincount(self.job, self.minutes * look.believed, self.jobs)
        whole = np.bincount(self.job, expected, self.jobs)
        by_luck = np.bincount(self.job, expected**2 * look.own_variance, self.jobs)
        told = whole > 0
        spread = by_luck[told] / whole[told] ** 2
        apart = np.log(minutes[told] / whole[told]) + spread / 2
        held = 1 / np.maximum(spread, luck_sd**2 / MOST_PARTS)
        return float((held * apart).sum() / (held.sum() + self.beliefs.total_sd**-2))

    def answer(self, terms: Floats, spreads: Spreads) -> Fit:
        """Return the fit at these terms."""
        beliefs = self.beliefs
        look = self.look(terms, spreads)
        rest, variance, believed = look.rest, look.variance, look.believed
        freedom = beliefs.tail_freedom
        priors = self.precision(spreads)
        whole = priors + self.sums(look)[0]
        chance = (
            math.lgamma((freedom + 1) / 2)
            - math.lgamma(freedom / 2)
            - (np.log(freedom * math.pi * variance) + (freedom + 1) * np.log1p(rest**2 / variance / freedom)) / 2
        )
        gross = math.log(beliefs.gross_chance / (2 * math.log(beliefs.gross_times)))
        evidence = float(np.where(believed, np.logaddexp(chance, gross), gross).sum())
        evidence -= float(terms @ priors @ terms) / 2
        evidence += (np.linalg.slogdet(priors)[1] - np.linalg.slogdet(whole)[1]) / 2
        for found, expected, held in (
            (spreads.operation, beliefs.operation_sd, beliefs.operation_weight),
            (spreads.job, beliefs.job_sd, beliefs.job_weight),
            (spreads.luck, beliefs.luck_sd, beliefs.luck_weight),
            (spreads.steps, beliefs.step_sd, beliefs.step_weight),
        ):
            evidence -= held / 2 * float(((expected / found) ** 2 - 1 + 2 * np.log(found / expected)).sum())
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
            spreads=spreads,
            changed=self.changed,
            total_bias=self.total_bias(look, spreads.luck),
            evidence=evidence,
            is_believed=believed,
            seen=seen,
            unseen=np.where(seen > 0, 0.0, unseen),
        )
