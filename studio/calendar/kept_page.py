"""How well foretold days were kept, in words, each with the jobs that it is counted from."""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.ground.wording import day_text
from studio.calendar.evidence import reasons_text
from studio.calendar.promised_days import Judged
from studio.models import Job
from studio.schedule.kept_days import FEWEST_JUDGED, KeptCount, Standing, kept_counts

__all__ = ["KeptFigure", "KeptPage", "KeptRow", "kept_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRow:
    """A finished job: the day, when it was finished, what the day rested on."""

    job: Job
    day: str
    finished: str
    is_kept: bool
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptFigure:
    """A count with its jobs."""

    what: str
    count: str
    rows: list[KeptRow]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptPage:
    """What the calendar says of itself; no figures where no job with foretold days is finished."""

    sentence: str
    figures: list[KeptFigure]


def kept_page(judged: Sequence[Judged]) -> KeptPage:
    """Return how many of the finished jobs kept their days."""
    if not judged:
        return KeptPage(
            sentence="Days are foretold for each job when it is made. Once jobs are finished, it stands here how many were "
            "finished by them.",
            figures=[],
        )
    likely, sure, promised = kept_counts([row.days for row in judged])
    figures = [
        KeptFigure(
            what="By the likely day",
            count=_count(likely),
            rows=[_row(row, day_text(row.days.day_50), row.days.finished <= row.days.day_50, "") for row in judged],
        ),
        KeptFigure(
            what="By the nine-in-ten day",
            count=_count(sure),
            rows=[_row(row, day_text(row.days.day_90), row.days.finished <= row.days.day_90, "") for row in judged],
        ),
    ]
    if promised.of:
        figures.append(
            KeptFigure(
                what="By the promised day",
                count=_count(promised),
                rows=[
                    _row(
                        row,
                        day_text(row.days.promised),
                        row.days.finished <= row.days.promised,
                        f"Moved to {day_text(row.moved_to)}. " if row.moved_to else "",
                    )
                    for row in judged
                    if row.days.promised is not None
                ],
            )
        )
    return KeptPage(sentence=" ".join(filter(None, (_sure_sentence(sure), _likely_sentence(likely)))), figures=figures)


def _count(count: KeptCount) -> str:
    return f"{count.kept} of {count.of}"


def _sure_sentence(sure: KeptCount) -> str:
    counted = f"{sure.kept} of {sure.of} finished jobs kept the day that holds nine times in ten"
    match sure.standing:
        case Standing.TOO_FEW:
            jobs = "1 finished job tells" if sure.of == 1 else f"{sure.of} finished jobs tell"
            return f"Only {jobs} of it, and {FEWEST_JUDGED} are the fewest: too few to judge the days by."
        case Standing.TOO_SELDOM:
            return (
                f"{counted}: clearly too seldom, by chance it would be so few less than once in forty times. "
                "Promise later days, and look whether all time at the table is logged."
            )
        case Standing.TOO_OFTEN:
            return (
                f"{counted}: clearly more than nine in ten, by chance it would be so many less than once in forty times. "
                "Earlier days could be promised."
            )
        case Standing.AS_SAID:
            return f"{counted}, which is as it should be: what differs from nine in ten may be chance."


def _likely_sentence(likely: KeptCount) -> str:
    """Only where the likely days are off; the others say the rest."""
    counted = f"The likely day was kept by {likely.kept}, clearly"
    match likely.standing:
        case Standing.TOO_SELDOM:
            return f"{counted} fewer than half."
        case Standing.TOO_OFTEN:
            return f"{counted} more than half."
        case Standing.TOO_FEW | Standing.AS_SAID:
            return ""


def _row(judged: Judged, day: str, is_kept: bool, moved: str) -> KeptRow:
    return KeptRow(
        job=judged.job,
        day=day,
        finished=day_text(judged.days.finished),
        is_kept=is_kept,
        words=f"{moved}{reasons_text(judged.reasons)}",
    )
