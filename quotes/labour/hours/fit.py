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
from quotes.labour.hours.equations import FIRST_MAKER, PACE, Equations, Look, Spreads
from quotes.labour.hours.small_matrices import inverse, product, summed_products

__all__ = ["Fit", "fit"]

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
    state = Equations(columns, jobs, beliefs)
    terms = _start(state, start)
    no_steps = np.zeros(0)
    spreads = Spreads(operation=beliefs.operation_sd, job=beliefs.job_sd, luck=beliefs.luck_sd, steps=no_steps)
    if start is not None:
        spreads = replace(start.spreads, steps=no_steps)
    terms, spreads = state.search(terms, spreads)
    plain = _answer(state, terms, spreads)
    changed = _likely_change(state, plain)
    if changed is None:
        return plain
    state = Equations(columns, jobs, beliefs, changed)
    spreads = replace(spreads, steps=np.full(len(columns.codes), beliefs.step_sd))
    terms, spreads = state.search(np.concatenate([terms, np.zeros(len(columns.codes))]), spreads)
    stepped = _answer(state, terms, spreads)
    return stepped if stepped.evidence > plain.evidence + beliefs.step_evidence else plain


def _start(state: Equations, known: Fit | None) -> Floats:
    terms = np.zeros(state.terms)
    if known is not None and known.jobs:
        terms[: state.first_job + known.jobs] = known.terms[: state.first_job + known.jobs]
    elif state.blocks:
        expected = np.bincount(state.block, state.claim_min, state.blocks)
        terms[PACE] = float(np.clip(np.median(np.log(state.minutes / expected)), -1, 1))
    return terms


def _likely_change(state: Equations, known: Fit) -> int | None:
    """Return the job from which operations most likely go otherwise, or None where none gains enough.

    Steps d of the operations, d ~ N(0, step²), put into the equations as they stand, gain the evidence
    ½ u′(1/step² + M)⁻¹u − ½ log|1 + step² M|, with u = S′Wr and M = S′WS − S′WX C X′WS.
    """
    if state.jobs < 2 * LEAST_JOBS:
        return None
    beliefs = state.beliefs
    look = state.look(known.terms, known.spreads)
    share = look.lean[:, state.first_code : state.first_job]
    ends = state.columns.block_ends[: state.jobs]
    gains = []
    score, crossed, first = np.zeros(state.codes), np.zeros((state.codes, state.terms)), 0
    for job in range(1, state.jobs - 1):
        blocks, first = slice(first, int(ends[job - 1])), int(ends[job - 1])
        held = share[blocks] * look.held[blocks, np.newaxis]
        score += held.T @ look.rest[blocks]
        crossed += summed_products(held, look.lean[blocks])
        if job < LEAST_JOBS:
            continue
        whole = crossed[:, state.first_code : state.first_job] - product(product(crossed, known.covariance), crossed.T)
        whole[np.arange(state.codes), np.arange(state.codes)] += beliefs.step_sd**-2
        gain = float(score @ np.linalg.solve(whole, score)) / 2
        gain -= (np.linalg.slogdet(whole)[1] + 2 * state.codes * math.log(beliefs.step_sd)) / 2
        gains.append((gain, job))
    gain, job = max(gains)
    return job if gain > beliefs.step_evidence else None


def _total_bias(state: Equations, look: Look, luck_sd: float) -> float:
    """Return by how much whole jobs lie above what their parts add up to, shrunk toward nothing.

    Of each job D = log(Σ minutes) − log(Σ expected) + ½ V over its believed blocks, where V is the spread² of that
    difference by luck alone; bias = Σ D ÷ V ÷ (Σ 1 ÷ V + 1 ÷ b²). Totals do not mind which operation, nor which of
    two blocks, a minute was written for, so they overrule the parts; the job's own luck is in what is expected, and
    so in neither.
    """
    expected = state.minutes * np.exp(look.variance / 2 - look.rest) * look.believed
    minutes = np.bincount(state.job, state.minutes * look.believed, state.jobs)
    whole = np.bincount(state.job, expected, state.jobs)
    by_luck = np.bincount(state.job, expected**2 * look.own_variance, state.jobs)
    told = whole > 0
    spread = by_luck[told] / whole[told] ** 2
    apart = np.log(minutes[told] / whole[told]) + spread / 2
    held = 1 / np.maximum(spread, luck_sd**2 / MOST_PARTS)
    return float((held * apart).sum() / (held.sum() + state.beliefs.total_sd**-2))


def _answer(state: Equations, terms: Floats, spreads: Spreads) -> Fit:
    """Return the fit at these terms."""
    beliefs = state.beliefs
    look = state.look(terms, spreads)
    rest, variance, believed = look.rest, look.variance, look.believed
    freedom = beliefs.tail_freedom
    priors = state.precision(spreads)
    whole = priors + state.sums(look)[0]
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
    held_by = believed[state.block]
    job_of_claim = state.job[state.block[held_by]]
    pairs = np.unique(job_of_claim * state.codes + state.code[held_by])
    seen = np.bincount(pairs % state.codes, minlength=state.codes).astype(np.float64)
    lost = [part.codes for part in state.columns.lost[: state.jobs]]
    unseen = np.bincount(np.concatenate([np.zeros(0, np.int64), *lost]), minlength=state.codes).astype(np.float64)
    return Fit(
        beliefs=beliefs,
        columns=state.columns,
        jobs=state.jobs,
        terms=terms,
        covariance=inverse(whole),
        spreads=spreads,
        changed=state.changed,
        total_bias=_total_bias(state, look, spreads.luck),
        evidence=evidence,
        is_believed=believed,
        seen=seen,
        unseen=np.where(seen > 0, 0.0, unseen),
    )
