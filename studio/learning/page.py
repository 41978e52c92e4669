"""Learning in words: how well past jobs would have been foretold, what is proposed, what was decided."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.ground.findings import Finding
from inventory.ground.wording import day_text, minutes_text, percent_text, signed_money_text
from quotes.labour.hours import NOT_BELIEVED, JudgedJob, Judgement, OperationFactor, Practice, assumptions
from quotes.labour.hours.curve import total, unit_factor
from quotes.labour.hours.judging import reach_of
from quotes.labour.learning.grounds import Grounds, LossGrounds, MinutesGrounds, RangeGrounds
from quotes.takeoff.losses import SUBJECTS
from studio.learning.learning import Learning
from studio.models import LearntChange

__all__ = ["ChangeRow", "JudgedRow", "LearningPage", "OperationRow", "change_row", "learning_page"]

Figure = tuple[str, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeRow:
    """One change; `answer` says what became of it and is empty while it is open; one that `stands` can be taken back.

    `aside` names the entries that were not believed; `effect` is an amount or empty, `example` says of which piece, or why.
    """

    pk: int
    name: str
    now: str
    learnt: str
    evidence: str
    aside: list[str]
    effect: str
    example: str
    answer: str
    stands: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedRow:
    """A past job: hours by the table, by what was known before it with its range, and what it took; `held` in words."""

    pk: int
    job: str
    default: str
    learnt: str
    took: str
    held: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationRow:
    """What an operation takes of its minutes, and in how many jobs its time was written."""

    name: str
    factor: str
    between: str
    written: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LearningPage:
    """Figures (what, how much, how) and what they rest on, what to know of the log, changes that wait, those decided.

    `doubts` are the findings of entries that are not believed, one each.
    """

    delivered: int
    figures: list[Figure]
    judged: list[JudgedRow]
    operations: list[OperationRow]
    findings: list[Finding]
    doubts: list[Finding]
    proposals: list[ChangeRow]
    decided: list[ChangeRow]


def learning_page(
    learnt: Learning, proposed: Sequence[LearntChange], decided: Sequence[LearntChange], standing: Collection[int]
) -> LearningPage:
    """Return the page's words; `figures` is empty where no job could be judged."""
    judged, names, keys = learnt.hours.judgement(), dict(learnt.log.names), dict(learnt.log.keys)
    findings = learnt.hours.findings if learnt.log.delivered else ()
    return LearningPage(
        delivered=learnt.log.delivered,
        figures=[*_figures(judged), *_practice(learnt.hours.practice, bool(judged.jobs))],
        judged=[_judged_row(job, keys[job.name]) for job in reversed(judged.jobs)],
        operations=[_operation_row(row, names) for row in learnt.hours.operations] if learnt.hours.jobs else [],
        findings=[finding for finding in findings if finding.code != NOT_BELIEVED],
        doubts=[finding for finding in findings if finding.code == NOT_BELIEVED],
        proposals=[change_row(change, standing) for change in proposed],
        decided=[change_row(change, standing) for change in decided],
    )


def _figures(judged: Judgement) -> list[Figure]:
    if judged.mape_default is None or judged.mape_learnt is None or judged.coverage_80 is None:
        return []
    count = len(judged.jobs)
    how = "Each piece as a whole is estimated only from what was known before its first day, then compared with what it took."
    mean = "The mean of |estimated − taken| ÷ taken over these pieces; where a part was not logged, over what it may have taken."
    few = (
        f" {count} {'piece tells' if count == 1 else 'pieces tell'} little yet."
        if count < assumptions().few_jobs
        else ""
    )
    return [
        (
            "Pieces judged",
            f"{count}",
            "The latest delivered pieces of which time was logged, twenty at most. What was done without time counts with "
            f"what such work takes; work that was done again is left out.{few}",
        ),
        ("The table was off by", _share(judged.mape_default), f"{how} {mean} Estimated by the table without learning."),
        ("Learnt minutes were off by", _share(judged.mape_learnt), f"{how} {mean} Estimated by learnt minutes.{few}"),
        (
            "The range held",
            _share(judged.coverage_80),
            f"So many of {count} pieces took as long as the range said that should hold 8 pieces in 10; one that is not "
            f"wholly logged counts with the chance that it lay inside. {how}{few}",
        ),
    ]


def _practice(known: Practice, is_judged: bool) -> list[Figure]:
    """What the curve of repeat work says of the next ten pieces; nothing while no piece could be judged."""
    if not is_judged:
        return []
    now = unit_factor(known.made, known.rate)
    ten = (total(known.made + 10, known.rate, 1.0) - total(known.made, known.rate, 1.0)) / now
    return [
        (
            "Practice",
            f"× {known.rate:.2f}",
            f"When twice as many pieces were made a piece takes {known.rate:.2f} of its time, 8 times in 10 between "
            f"{known.low:.2f} and {known.high:.2f} (Crawford’s learning curve, of all {known.made} pieces). The next ten "
            f"together would take as long as {ten:.1f} of today’s.",
        )
    ]


def _judged_row(job: JudgedJob, pk: int) -> JudgedRow:
    learnt, took = job.foretold, job.took
    reach = reach_of(learnt, assumptions().range_share)
    chance = job.held(assumptions().range_share)
    about = "about " if took.spread else ""
    return JudgedRow(
        pk=pk,
        job=job.name,
        default=minutes_text(job.default_min),
        learnt=f"{_minutes(learnt.log_min)}, {_minutes(learnt.log_min - reach)} to {_minutes(learnt.log_min + reach)}",
        took=f"{about}{_minutes(took.log_min)}",
        held={1.0: "held", 0.0: "missed"}.get(round(chance, 2), f"held, {percent_text(round(chance, 2))} likely"),
    )


def _operation_row(row: OperationFactor, names: Mapping[str, str]) -> OperationRow:
    return OperationRow(
        name=names[row.code],
        factor=f"× {row.factor:.2f}",
        between=f"{row.low:.2f} to {row.high:.2f}",
        written=f"{row.jobs} {'job' if row.jobs == 1 else 'jobs'}" if row.jobs else "never",
    )


def _minutes(log_min: float) -> str:
    return minutes_text(math.exp(log_min))


def change_row(change: LearntChange, standing: Collection[int]) -> ChangeRow:
    """Return a change in words, be it open or decided."""
    grounds = change.grounds
    now, learnt = _before_and_after(change.what, grounds)
    return ChangeRow(
        pk=change.pk,
        name=grounds.name,
        now=now,
        learnt=learnt,
        evidence=grounds.words,
        aside=[f"{doubted.job}, {day_text(doubted.day)}: {doubted.why}" for doubted in grounds.aside],
        effect="" if grounds.effect_on_price is None else signed_money_text(grounds.effect_on_price, grounds.currency),
        example=_example(grounds),
        answer=_answer(change),
        stands=change.pk in standing,
    )


def _before_and_after(what: str, grounds: Grounds) -> tuple[str, str]:
    match grounds:
        case MinutesGrounds():
            return minutes_text(grounds.default_min), minutes_text(grounds.learnt_min)
        case RangeGrounds():
            return _range_text(grounds.now), _range_text(grounds.learnt)
        case LossGrounds():
            text = SUBJECTS[what].text
            return text(grounds.now), text(grounds.learnt)
    raise TypeError(f"A {type(grounds).__name__} has no words.")


def _example(grounds: Grounds) -> str:
    if isinstance(grounds, RangeGrounds):
        return "moves no price"
    return (
        f"on {grounds.example}"
        if grounds.effect_on_price is not None
        else f"{grounds.example} cannot be quoted any more"
    )


def _range_text(ends: Sequence[float]) -> str:
    low, high = ends
    return f"× {low:.2f} to {high:.2f}"


def _answer(change: LearntChange) -> str:
    if change.decided_at is None:
        return ""
    words = f"{change.get_state_display()} {_when(change.decided_at, change.decided_by)}"
    return words if change.ended_at is None else f"{words}; taken back {_when(change.ended_at, change.ended_by)}"


def _when(at: datetime, by: User | None) -> str:
    return f"on {day_text(timezone.localdate(at))}" + (f" by {by.get_username()}" if by else "")


def _share(share: float) -> str:
    return percent_text(str(round(share, 3)))
