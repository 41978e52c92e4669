"""From a fit to minutes: what a job to come will take, and what a past one took with what is missing in its log."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from quotes.labour.hours.columns import LEAST_MIN, Floats
from quotes.labour.hours.equations import FIRST_MAKER, PACE, TREND
from quotes.labour.hours.fit import Fit

__all__ = ["Guess", "believed_min", "foretell", "log_factor", "log_trend", "took"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """Whole minutes as the logarithm of their middle and its standard deviation.

    `common` is that of the part of it that the next jobs share: what is not known of the workroom, not the job's own luck.
    """

    log_min: float
    spread: float
    common: float = 0.0


def foretell(known: Fit, estimates: Mapping[str, float], maker: str) -> Guess:
    """Return what a job to come takes: T = Σ e × exp(pace + maker + operation), and the spread of its logarithm.

    spread² = x′Cx (what is not known of the terms; x the shares in T) + operations and makers never seen + one step of
    the wander + the job's own luck + Σ share² × s² × f ÷ (f − 2), as luck follows Student's t of f degrees of freedom.
    Averages add up to T; whole jobs then say by how much such sums are wrong, and the middle of a sum lies half its luck's variance below.
    """
    beliefs = known.beliefs
    makers = known.maker_shares(maker)
    codes = list(estimates)
    places = [known.place_of(code) for code in codes]
    paced = np.array([1.0 if place is None else known.with_pace(place) for place in places])
    own = np.array([0.0 if place is None else known.terms[known.first_code + place] for place in places])
    common = float(known.terms[PACE] + makers @ known.terms[FIRST_MAKER : known.first_code])
    parts: Floats = np.maximum([estimates[code] for code in codes], LEAST_MIN) * np.exp(common * paced + own)
    whole = float(parts.sum())
    share = parts / whole
    lean = known.lean(share, paced, places, makers)
    strange = float((share[[place is None for place in places]] ** 2).sum()) * known.spreads.operation**2
    if maker and maker not in known.columns.makers:
        strange += beliefs.maker_sd**2
    luck = float((share**2).sum()) * known.spreads.luck**2
    shared = float(lean @ known.covariance @ lean) + strange + beliefs.walk_sd**2
    alone = known.spreads.job**2 + luck * beliefs.tail_freedom / (beliefs.tail_freedom - 2)
    return Guess(
        log_min=math.log(whole) + known.total_bias - luck / 2,
        spread=math.sqrt(shared + alone),
        common=math.sqrt(shared),
    )


def log_factor(known: Fit, code: str) -> Guess:
    """Return the logarithm of what an operation takes of its estimate on average, and how far that may be wrong."""
    place = known.place_of(code)
    paced = np.array([1.0 if place is None else known.with_pace(place)])
    makers = known.maker_shares("")
    lean = known.lean(np.ones(1), paced, [place], makers)
    strange = known.spreads.operation**2 if place is None else 0.0
    return Guess(log_min=float(lean @ known.terms), spread=math.sqrt(float(lean @ known.covariance @ lean) + strange))


def log_trend(known: Fit) -> Guess:
    """Return by how much the logarithm of the pace moves as the logarithm of the number of jobs made grows by 1."""
    return Guess(log_min=float(known.terms[TREND]), spread=math.sqrt(float(known.covariance[TREND, TREND])))


def believed_min(known: Fit, job: int) -> float:
    """Return the minutes that were written of a past job and are believed."""
    blocks = known.columns.blocks_of(job)
    return float(known.columns.minutes[blocks][known.is_believed[blocks]].sum())


def took(known: Fit, job: int) -> Guess | None:
    """Return what a past job took: what was written and is believed, and what is expected of the rest; None of nothing."""
    written = believed_min(known, job)
    if written == 0:
        return None
    columns = known.columns
    claims = columns.claims_of(job)
    unread = ~known.is_believed[columns.claim_block[claims]]
    codes = np.concatenate([columns.lost[job].codes, columns.claim_code[claims][unread]])
    if not len(codes):
        return Guess(log_min=math.log(written), spread=0.0)
    estimates = np.concatenate([columns.lost[job].estimates, columns.claim_min[claims][unread]])
    paced = np.array([known.with_pace(int(code)) for code in codes])
    makers = known.maker_shares("")
    place = known.first_job + job
    common = float(known.terms[PACE] + known.terms[place] + makers @ known.terms[FIRST_MAKER : known.first_code])
    parts: Floats = estimates * np.exp(common * paced + known.terms[known.first_code + codes])
    whole = written + float(parts.sum())
    share = parts / whole
    lean = known.lean(share, paced, codes.tolist(), makers)
    lean[place] = float(share @ paced)
    variance = float(lean @ known.covariance @ lean) + float((share**2).sum()) * known.spreads.luck**2
    return Guess(log_min=math.log(whole), spread=math.sqrt(variance))
