"""How well days that were foretold were kept, and whether that is luck.

The question: of the finished jobs, how many were finished by the likely day, by the day that is kept nine times in ten and
by the day that was promised?

What one share of days would be kept by chance alone is binomial. A count is said to be off where a share such as was
foretold would bring one so low, or one so high, less than once in forty times: just where the exact 95 % interval of the
kept share leaves the foretold one out. Jobs of one queue are late together, so a count that is only just off may be luck
still.

Source: Clopper and Pearson, The use of confidence or fiducial limits illustrated in the case of the binomial (Biometrika,
1934).
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import Enum

__all__ = ["FEWEST_JUDGED", "FinishedJob", "KeptCount", "Standing", "finished_on", "kept_counts"]

FEWEST_JUDGED = 5
"""Of fewer jobs nothing is said."""
ONE_SIDE = 0.025
LIKELY_SHARE = 0.5
SURE_SHARE = 0.9


class Standing(Enum):
    """What a count says of days that are foretold."""

    TOO_FEW = "too few"
    TOO_SELDOM = "too seldom"
    TOO_OFTEN = "too often"
    AS_SAID = "as said"


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishedJob:
    """What was first foretold for a job, the first day that was agreed for it, and when it was finished."""

    job: str
    day_50: date
    day_90: date
    promised: date | None
    finished: date


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCount:
    """How many days were kept `of` so many; `share` of them would be by what was foretold, None for a promised day."""

    kept: int
    of: int
    share: float | None

    @property
    def standing(self) -> Standing:
        """Whether that is as was foretold.

        >>> KeptCount(kept=9, of=20, share=0.9).standing, KeptCount(kept=17, of=20, share=0.9).standing
        (<Standing.TOO_SELDOM: 'too seldom'>, <Standing.AS_SAID: 'as said'>)
        """
        if self.of < FEWEST_JUDGED:
            return Standing.TOO_FEW
        if self.share is not None:
            if _chance(range(self.kept + 1), self.of, self.share) < ONE_SIDE:
                return Standing.TOO_SELDOM
            if _chance(range(self.kept, self.of + 1), self.of, self.share) < ONE_SIDE:
                return Standing.TOO_OFTEN
        return Standing.AS_SAID


def finished_on(all_ticked_on: date | None, delivered_on: date | None) -> date | None:
    """Return the day on which a piece was finished; None where it is not.

    That is the day of its last tick where every operation is ticked, else its delivery; the earlier where both are known:
    what is handed over is finished, whatever was ticked late.

    >>> finished_on(date(2027, 3, 4), date(2027, 3, 9)), finished_on(None, date(2027, 3, 9)), finished_on(None, None)
    (datetime.date(2027, 3, 4), datetime.date(2027, 3, 9), None)
    """
    return min((day for day in (all_ticked_on, delivered_on) if day is not None), default=None)


def kept_counts(jobs: Sequence[FinishedJob]) -> tuple[KeptCount, KeptCount, KeptCount]:
    """Return how many were finished by their likely day, by their sure day and, of those that had one, as promised."""
    agreed = [(job.finished, job.promised) for job in jobs if job.promised is not None]
    return (
        KeptCount(kept=sum(job.finished <= job.day_50 for job in jobs), of=len(jobs), share=LIKELY_SHARE),
        KeptCount(kept=sum(job.finished <= job.day_90 for job in jobs), of=len(jobs), share=SURE_SHARE),
        KeptCount(kept=sum(finished <= day for finished, day in agreed), of=len(agreed), share=None),
    )


def _chance(counts: Iterable[int], of: int, share: float) -> float:
    """The binomial chance of any of the counts."""
    return math.fsum(math.comb(of, kept) * share**kept * (1 - share) ** (of - kept) for kept in counts)
