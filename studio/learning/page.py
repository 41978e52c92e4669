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
        proposals=[_row(row, standing) for row in proposed],
        decided=[_row(row, standing) for row in decided],
    )


def _figures(judged: Backtest) -> list[Figure]:
    if judged.mape_default is None or judged.mape_learnt is None or judged.coverage_80 is None:
        return []
    held = sum(row.is_held for row in judged.rows)
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


def _row(row: LearntChange, standing: Collection[int]) -> ChangeRow:
    said = row.evidence
    now, learnt = _now_and_learnt(row)
    return ChangeRow(
        pk=row.pk,
        name=said["name"],
        now=now,
        learnt=learnt,
        evidence=said["words"],
        # What was decided before entries were kept with their answer names none.
        aside=[f"{found['job']}, {day_text(found['day'])}: {found['why']}" for found in said.get("aside", [])],
        effect=_effect(said["effect_on_price"], said["currency"]),
        example=_example(row),
        answer=_answer(row),
        stands=row.pk in standing,
    )


def _now_and_learnt(row: LearntChange) -> tuple[str, str]:
    said = row.evidence
    if row.kind == LearntChange.Kind.MINUTES:
        return minutes_text(said["default_min"]), minutes_text(said["learnt_min"])
    if row.kind == LearntChange.Kind.RANGE:
        return _range_text(said["now"]), _range_text(said["learnt"])
    subject = SUBJECTS[row.what]
    return subject.text(said["now"]), subject.text(said["learnt"])


def _example(row: LearntChange) -> str:
    if row.kind == LearntChange.Kind.RANGE:
        return "moves no price"
    said = row.evidence
    return f"on {said['example']}" if said["effect_on_price"] else f"{said['example']} cannot be quoted any more"


def _range_text(ends: Sequence[float]) -> str:
    low, high = ends
    return f"× {low:.2f} to {high:.2f}"


def _effect(amount: str | None, currency: str) -> str:
    return "" if amount is None else signed_money_text(amount, currency)


def _answer(row: LearntChange) -> str:
    if row.decided_at is None:
        return ""
    words = f"{row.get_state_display()} {_when(row.decided_at, row.decided_by)}"
    return words if row.ended_at is None else f"{words}; taken back {_when(row.ended_at, row.ended_by)}"


def _when(at: datetime, by: User | None) -> str:
    return f"on {day_text(timezone.localdate(at))}" + (f" by {by.get_username()}" if by else "")


def _share(share: float) -> str:
    return percent_text(str(round(share, 3)))
