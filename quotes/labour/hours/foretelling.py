"""From a fit to minutes: what a job to come will take, and what a past one took with what is missing in its log."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from quotes.labour.hours.columns import Floats
from quotes.labour.hours.fit import FIRST_MAKER, PACE, Fit

__all__ = ["Guess", "foretell", "took"]


TAILS = 5/3

@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """Whole minutes as the logarithm of their middle and its standard deviation."""

    log_min: float
    spread: float


def foretell(known: Fit, estimates: Mapping[str, float], maker: str) -> Guess:
    """Return what a next job takes: T = Σ e × exp(pace + maker + operation), and the spread of its logarithm.

    spread² = x′Cx (what is not known of the terms, x the shares in T) + the job's and its operations' luck + those of
    operations that were never seen.
    """
    places = {code: place for place, code in enumerate(known.columns.codes)}
    lean = np.zeros(len(known.terms))
    shares = known.columns.usual_shares
    if maker:
        shares = np.array([1.0 if name == maker else 0.0 for name in known.columns.makers])
    parts: list[tuple[float, int | None, float]] = []
    common = float(known.terms[PACE] + shares @ known.terms[FIRST_MAKER : known.first_code])
    for code, estimate in estimates.items():
        place = places.get(code)
        with_pace = 1.0 if place is None else _with_pace(known, place)
        own = 0.0 if place is None else float(known.terms[known.first_code + place])
        parts.append((estimate * math.exp(common * with_pace + own), place, with_pace))
    whole = math.fsum(part for part, _, _ in parts)
    strange = luck = 0.0
    for part, place, with_pace in parts:
        share = part / whole
        luck += (share * known.luck_sd) ** 2
        lean[PACE] += share * with_pace
        lean[FIRST_MAKER : known.first_code] += share * with_pace * shares
        if place is None:
            strange += (share * known.operation_sd) ** 2
        else:
            lean[known.first_code + place] += share
    unsure = float(lean @ known.covariance @ lean) + strange
    if maker and maker not in known.columns.makers:
        unsure += 0.2**2
    variance = unsure + known.walk_sd**2 + known.job_sd**2 + luck * TAILS
    return Guess(log_min=math.log(whole) - luck / 2, spread=math.sqrt(variance))


def took(known: Fit, job: int) -> Guess | None:
    """Return what a past job took: what was written and is believed, and what is expected of the rest; None of nothing.
    """
    columns = known.columns
    first_block, first_claim = (0, 0) if job == 0 else (columns.block_ends[job - 1], columns.claim_ends[job - 1])
    blocks = slice(int(first_block), int(columns.block_ends[job]))
    claims = slice(int(first_claim), int(columns.claim_ends[job]))
    written = float(columns.minutes[blocks][known.is_believed[blocks]].sum())
    if written == 0:
        return None
    unread = ~known.is_believed[columns.claim_block[claims]]
    codes = np.concatenate([columns.lost[job].codes, columns.claim_code[claims][unread]])
    estimates = np.concatenate([columns.lost[job].estimates, columns.claim_min[claims][unread]])
    if not len(codes):
        return Guess(log_min=math.log(written), spread=0.0)
    lean = np.zeros(len(known.terms))
    place = known.first_job + job
    with_pace = np.array([_with_pace(known, int(code)) for code in codes])
    common = float(
        known.terms[PACE] + known.terms[place] + columns.usual_shares @ known.terms[FIRST_MAKER : known.first_code]
    )
    parts: Floats = estimates * np.exp(common * with_pace + known.terms[known.first_code + codes])
    whole = written + float(parts.sum())
    share = parts / whole
    lean[PACE] = lean[place] = float((share * with_pace).sum())
    np.add.at(lean, known.first_code + codes, share)
    variance = float(lean @ known.covariance @ lean) + float((share**2).sum()) * known.luck_sd**2
    return Guess(log_min=math.log(whole), spread=math.sqrt(variance))


def _with_pace(known: Fit, place: int) -> float:
    """How far an operation leans on the pace: one that is done and never written stays at what was planned."""
    return 1.0 if known.unseen[place] < 2 else 0.0
