"""Learning in words: how well past jobs would have been foretold, what is proposed, what was decided."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.ground.wording import day_text, minutes_text, percent_text, signed_money_text
from quotes.labour.learning import Backtest
from quotes.takeoff.losses import SUBJECTS
from studio.models import LearntChange

__all__ = ["ChangeRow", "LearningPage", "learning_page"]

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
class LearningPage:
    """Figures (what, how much, how), changes that wait, changes that were decided."""

    figures: list[Figure]
    proposals: list[ChangeRow]
    decided: list[ChangeRow]


def learning_page(
    judged: Backtest, proposed: Sequence[LearntChange], decided: Sequence[LearntChange], standing: Collection[int]
) -> LearningPage:
    """Return the page's words; `figures` is empty where no job could be judged."""
    return LearningPage(
        figures=_figures(judged),
        proposals=[_change_row(change, standing) for change in proposed],
        decided=[_change_row(change, standing) for change in decided],
    )


def _figures(judged: Backtest) -> list[Figure]:
    if judged.mape_default is None or judged.mape_learnt is None or judged.coverage_80 is None:
        return []
    held = sum(job.is_held for job in judged.rows)
    how = "Each job is estimated only from what was known before its first day, then compared with what was logged."
    mean = "The mean of |estimated − logged| ÷ logged over these jobs."
    return [
        (
            "Jobs judged",
            f"{judged.jobs}",
            "Delivered jobs of which at least half of the minutes were logged believably; forgotten timers and work "
            "done again are left out.",
        ),
        ("The table was off by", _share(judged.mape_default), f"{how} {mean} Estimated by the table without learning."),
        ("Learnt minutes were off by", _share(judged.mape_learnt), f"{how} {mean} Estimated by learnt minutes."),
        (
            "The range held",
            _share(judged.coverage_80),
            f"{held} of {judged.jobs} jobs took as long as the range said that should hold 8 jobs in 10. {how}",
        ),
    ]


def _change_row(change: LearntChange, standing: Collection[int]) -> ChangeRow:
    evidence = change.evidence
    now, learnt = _before_and_after(change)
    return ChangeRow(
        pk=change.pk,
        name=evidence["name"],
        now=now,
        learnt=learnt,
        evidence=evidence["words"],
        # What was decided before entries were kept with their answer names none.
        aside=[
            f"{doubted['job']}, {day_text(doubted['day'])}: {doubted['why']}" for doubted in evidence.get("aside", [])
        ],
        effect=_effect(evidence["effect_on_price"], evidence["currency"]),
        example=_example(change),
        answer=_answer(change),
        stands=change.pk in standing,
    )


def _before_and_after(change: LearntChange) -> tuple[str, str]:
    evidence = change.evidence
    if change.kind == LearntChange.Kind.MINUTES:
        return minutes_text(evidence["default_min"]), minutes_text(evidence["learnt_min"])
    if change.kind == LearntChange.Kind.RANGE:
        return _range_text(evidence["now"]), _range_text(evidence["learnt"])
    subject = SUBJECTS[change.what]
    return subject.text(evidence["now"]), subject.text(evidence["learnt"])


def _example(change: LearntChange) -> str:
    if change.kind == LearntChange.Kind.RANGE:
        return "moves no price"
    evidence = change.evidence
    return (
        f"on {evidence['example']}"
        if evidence["effect_on_price"]
        else f"{evidence['example']} cannot be quoted any more"
    )


def _range_text(ends: Sequence[float]) -> str:
    low, high = ends
    return f"× {low:.2f} to {high:.2f}"


def _effect(amount: str | None, currency: str) -> str:
    return "" if amount is None else signed_money_text(amount, currency)


def _answer(change: LearntChange) -> str:
    if change.decided_at is None:
        return ""
    words = f"{change.get_state_display()} {_when(change.decided_at, change.decided_by)}"
    return words if change.ended_at is None else f"{words}; taken back {_when(change.ended_at, change.ended_by)}"


def _when(at: datetime, by: User | None) -> str:
    return f"on {day_text(timezone.localdate(at))}" + (f" by {by.get_username()}" if by else "")


def _share(share: float) -> str:
    return percent_text(str(round(share, 3)))
