"""Calibration: what the entries say of each operation on a day, and the estimate of a new job with its range."""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist

from quotes.labour.learning.aside import is_aside, set_aside, set_aside_words
from quotes.labour.learning.assumptions import judging, labour_beliefs
from quotes.labour.learning.fit import Fit, fit
from quotes.labour.learning.known_before import learnt_minutes, range_of_errors, walk
from quotes.labour.learning.observations import Columns, Observation, SetAside, columns, logged_entries

__all__ = ["Calibration", "OperationFactor", "Prediction", "calibrate", "predict"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationFactor:
    """What an operation takes of the table's minutes, on average, for the first piece of a style.

    Attributes:
        standard_error: of the natural logarithm of `factor`; 0.1 is about 10 %.
        entries: how many were used; those set aside come on top.
        default_min: the table's minutes in the jobs it was learnt from, on average.
        evidence: one or two sentences for the maker.
    """

    operation: str
    factor: float
    standard_error: float
    entries: int
    default_min: float
    set_aside: tuple[SetAside, ...]
    evidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """What is known on the day `on`.

    Attributes:
        jobs: how many have an entry.
        factors: of every operation that has an entry, by code.
        pace: the factor of an operation that has none.
        repeat_rate: of Crawford's learning curve; `repeat_error` the standard error of its natural logarithm.
        errors: of the latest jobs, each estimated from what was known before it, in the spreads that were foretold.
        known: the fit itself, for `predict`.
    """

    on: date
    jobs: int
    factors: tuple[OperationFactor, ...]
    pace: float
    repeat_rate: float
    repeat_error: float
    errors: tuple[float, ...]
    known: Fit


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """An estimate: minutes of each operation before allowance, totals with it; the range holds 8 jobs in 10."""

    minutes: Mapping[str, float]
    total_min: float
    low_min: float
    high_min: float
    range_rule: str


def calibrate(observations: Sequence[Observation], *, on: date) -> Calibration:
    """Return what is known on the day `on`, its own entries included and younger ones left out.

    The latest jobs are estimated anew, each from what was known before it, so it takes longer than a look-up: about
    a third of a second for sixty jobs of thirty operations.
    """
    known_by_then = [seen for seen in observations if seen.day <= on]
    table = columns(logged_entries(known_by_then))
    known = fit(table, on, labour_beliefs())
    log_rate, rate_error = known.log_rate
    judged = walk(known_by_then, table, known, latest=judging().errors_kept)
    return Calibration(
        on=on,
        jobs=len(table.jobs),
        factors=_factors(table, known),
        pace=known.pace,
        repeat_rate=math.exp(log_rate),
        repeat_error=rate_error,
        errors=tuple(job.error for job in sorted(judged, key=lambda job: job.finished)),
        known=known,
    )


def predict(
    minutes: Mapping[str, float],
    calibration: Calibration,
    *,
    allowance_share: float,
    style: str = "",
    repetition: int = 1,
) -> Prediction:
    """Return the estimate of a new job.

    Args:
        minutes: the table's for each operation, without allowance, each >= 0 and not all 0.
        allowance_share: of the time worked, added to all totals.
        style: as in the observations; its own difficulty counts where it was made before.
        repetition: 1 for the first piece of its style.

    Raises:
        ValueError: there is nothing to do.
    """
    if not math.fsum(minutes.values()) > 0:
        raise ValueError("An estimate takes at least one operation with minutes above 0.")
    learnt = learnt_minutes(minutes, calibration.known, style, repetition)
    spread = calibration.known.spread(learnt, style, repetition)
    low, high = range_of_errors(calibration.errors)
    total = math.fsum(learnt.values()) * (1 + allowance_share)
    return Prediction(
        minutes=learnt,
        total_min=total,
        low_min=total * math.exp(low * spread),
        high_min=total * math.exp(high * spread),
        range_rule=_range_rule(len(calibration.errors), math.exp(low * spread), math.exp(high * spread)),
    )


def _factors(table: Columns, known: Fit) -> tuple[OperationFactor, ...]:
    of_kind: dict[str, list[int]] = defaultdict(list)
    for place, entry in enumerate(table.entries):
        of_kind[entry.kind].append(place)
    rows = []
    for kind in sorted(table.kinds):
        aside = [place for place in of_kind[kind] if is_aside(known, place)]
        used = [place for place in of_kind[kind] if place not in aside]
        log_factor, error = known.log_factor(kind)
        shown = [table.entries[place] for place in used or aside]
        rows.append(
            OperationFactor(
                operation=kind,
                factor=math.exp(log_factor),
                standard_error=error,
                entries=len(used),
                default_min=math.fsum(entry.expected for entry in shown) / len(shown),
                set_aside=tuple(_set_aside(table, known, place) for place in aside),
                evidence=_evidence(log_factor, error, len({table.job[place] for place in used}), len(aside)),
            )
        )
    return tuple(rows)


def _set_aside(table: Columns, known: Fit, place: int) -> SetAside:
    return set_aside(
        table,
        known,
        place,
        said=lambda found, expected: f"{_time_text(found)} where {_time_text(expected)} were expected",
        too_much="a forgotten timer",
        too_little="most of it was not logged",
    )


def _time_text(minutes: float) -> str:
    amount, unit = (minutes / 60, "hour") if minutes >= 60 else (minutes, "minute")
    shown = f"{round(amount, 1):g}"
    return f"{shown} {unit}" if shown == "1" else f"{shown} {unit}s"


def _evidence(log_factor: float, error: float, jobs: int, aside: int) -> str:
    factor = math.exp(log_factor)
    left = set_aside_words(aside)
    if not jobs:
        return f"None of its entries can be believed, so it takes the workroom’s own pace, {factor:.2f} times the table.{left}"
    reach = NormalDist().inv_cdf((1 + judging().range_share) / 2) * error
    return (
        f"In {jobs} {'job' if jobs == 1 else 'jobs'} it took {factor:.2f} times the table’s minutes on average, and 8 "
        f"times in 10 the true figure lies between {factor * math.exp(-reach):.2f} and {factor * math.exp(reach):.2f}.{left}"
    )


def _range_rule(errors: int, low: float, high: float) -> str:
    between = f"8 jobs in 10 should take between {low:.2f} and {high:.2f} times the estimate"
    if not errors:
        return f"No job was estimated and finished yet, so the range is what is usual at the start: {between}."
    jobs = "the one past job" if errors == 1 else f"the last {errors} jobs"
    return f"{between}, by how wrong the estimates of {jobs} were, each made from what was known before it."
