"""What a log says of itself, in sentences: what is missing, what is not believed, and what to do about it."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from inventory.ground.findings import Finding, note, warn
from inventory.ground.wording import day_text, minutes_text, named_text, percent_text
from quotes.labour.hours.doubts import Doubt
from quotes.labour.hours.explanations import LOST
from quotes.labour.hours.fit import Fit
from quotes.labour.hours.foretelling import believed_min, took
from quotes.labour.hours.presence import PresentDay, presence_finding
from quotes.labour.hours.walk import Known, Walk

__all__ = ["NOT_BELIEVED", "log_findings"]

NOT_BELIEVED = "hours.not-believed"

MOST_NAMED = 4


def log_findings(
    walk: Walk,
    known: Known,
    doubts: Sequence[Doubt],
    *,
    names: Mapping[str, str],
    present: Sequence[PresentDay],
) -> tuple[Finding, ...]:
    """Return what a maker should know of the log that this was learnt from, the weightiest first.

    Args:
        names: of operations, in place of their codes.
        present: days of which the hours present are known.
    """
    written = [job.logged_min > 0 for job in walk.jobs]
    if not any(written):
        return (
            note(
                "hours.no-jobs",
                "jobs",
                "Nothing was logged yet, so the range is that of workrooms at large: published hours for such a piece run "
                "from 16 to 40.",
            ),
        )
    found = [
        *_disagreement(walk, known),
        *_missing(walk, known, names),
        *(_not_believed(each, names) for each in doubts),
    ]
    silent = [job.name for job, has_time in zip(walk.jobs, written, strict=True) if not has_time]
    if silent:
        found.append(
            warn(
                "hours.no-time",
                "jobs",
                f"No time was logged for {named_text(silent, most=MOST_NAMED)}: nothing is learnt of it.",
            )
        )
    changed = known.fits[known.likeliest].changed
    if changed is not None:
        day = day_text(walk.jobs[changed].begun)
        found.append(
            note("hours.changed", "jobs", f"From about {day} on several operations go otherwise; factors are today's.")
        )
    if sum(written) < walk.beliefs.few_jobs:
        jobs = f"{sum(written)} {'job' if sum(written) == 1 else 'jobs'}"
        found.append(
            note(
                "hours.too-little",
                "jobs",
                f"This rests on {jobs}: the range is wide until there are {walk.beliefs.few_jobs} or more.",
            )
        )
    found.append(presence_finding(present))
    return tuple(found)


def _whole_min(walk: Walk, known: Fit) -> float:
    found = [took(known, place) for place in range(len(walk.jobs))]
    return math.fsum(math.exp(guess.log_min) for guess in found if guess is not None)


def _disagreement(walk: Walk, known: Known) -> list[Finding]:
    """Where total and parts disagree: explanations that both count make the work as a whole differ."""
    found = np.array([_whole_min(walk, each) for each in known.fits])
    # One that believes no entry says nothing of the whole.
    if not found.all():
        return []
    wholes, weights = np.log(found), np.array(known.weights)
    apart = math.sqrt(float(weights @ (wholes - weights @ wholes) ** 2))
    if apart < walk.beliefs.far_apart:
        return []
    return [
        warn(
            "hours.total-and-parts",
            "jobs",
            f"The total and its parts disagree: operations without time were either lost or written with others, and the "
            f"whole work differs by about {percent_text(round(apart, 2))} between the two.",
            "Tick at the end of the day what was done without time, and how long it took together.",
        )
    ]


def _missing(walk: Walk, known: Known, names: Mapping[str, str]) -> list[Finding]:
    """What was done without time, and where its minutes are looked for."""
    found = []
    likeliest = known.fits[known.likeliest]
    written = math.fsum(believed_min(likeliest, place) for place in range(len(walk.jobs)))
    whole = _whole_min(walk, likeliest)
    columns = likeliest.columns
    lost = Counter(columns.codes[code] for part in columns.lost for code in part.codes.tolist())
    never = sorted(code for code in lost if code and not likeliest.seen[columns.place_of[code]])
    if never:
        found.append(
            warn(
                "hours.never-logged",
                "jobs",
                f"{_names(never, names)} {'is' if len(never) == 1 else 'are'} done and never logged; "
                f"{'its' if len(never) == 1 else 'their'} planned minutes are taken.",
                "Log them once or twice, or take them out of the estimate.",
            )
        )
    named = [code for code, _ in sorted(lost.items(), key=lambda row: (-row[1], row[0])) if code and code not in never]
    if named and 1 - written / whole > walk.beliefs.much_lost:
        found.append(
            warn(
                "hours.lost",
                "jobs",
                f"About {percent_text(round(1 - written / whole, 2))} of the work was probably done and not logged, most often {_names(named, names)}; "
                f"it is reckoned with at what such work takes.",
            )
        )
    if known.explanations[known.likeliest] != LOST:
        found.append(
            note(
                "hours.with-others",
                "jobs",
                "Operations without time seem to have been logged with the one next to them; their minutes are looked for "
                "there.",
            )
        )
    return found


def _not_believed(doubt: Doubt, names: Mapping[str, str]) -> Finding:
    return warn(
        NOT_BELIEVED,
        doubt.job,
        f"{minutes_text(doubt.minutes)} for {_names(doubt.operations, names)} is not believed and left out.",
        "Was a timer left running, or started late?",
    )


def _names(codes: Sequence[str], names: Mapping[str, str]) -> str:
    return named_text([names.get(code, code) for code in codes], most=MOST_NAMED)
