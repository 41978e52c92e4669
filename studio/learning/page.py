"""Learning in words: how well past jobs would have been foretold, what is proposed, what was decided."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.ground.wording import day_text, minutes_text, percent_text, signed_money_text
from quotes.labour.learning import Backtest
from quotes.labour.learning.grounds import Grounds, LossGrounds, MinutesGrounds, RangeGrounds
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
