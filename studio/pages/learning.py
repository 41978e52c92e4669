"""Learning in words: how well past jobs would have been foretold, what is proposed, what was decided."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from inventory.wording import day_text, minutes_text, money_text, percent_text
from quotes.labour.learning import Backtest
from quotes.takeoff.losses import SUBJECTS
from studio.models import LearntChange

__all__ = ["ChangeRow", "LearningPage", "learning_page"]

Figure = tuple[str, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeRow:
    """One change; `answer` says what became of it and is empty while it is open.

    `aside` names the entries that were not believed; `effect` is empty where the example cannot be quoted any more.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class LearningPage:
    """Figures (what, how much, how), changes that wait, changes that were decided."""

    figures: list[Figure]
    proposals: list[ChangeRow]
    decided: list[ChangeRow]


def learning_page(judged: Backtest, proposed: Sequence[LearntChange], decided: Sequence[LearntChange]) -> LearningPage:
    """Return the page's words; `figures` is empty where no job could be judged."""
    return LearningPage(
        figures=_figures(judged), proposals=[_row(row) for row in proposed], decided=[_row(row) for row in decided]
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


def _row(row: LearntChange) -> ChangeRow:
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
        example=said["example"],
        answer=_answer(row),
    )


def _now_and_learnt(row: LearntChange) -> tuple[str, str]:
    said = row.evidence
    if row.kind == LearntChange.Kind.MINUTES:
        return minutes_text(said["default_min"]), minutes_text(said["learnt_min"])
    subject = SUBJECTS[row.what]
    return subject.text(said["now"]), subject.text(said["learnt"])


def _effect(amount: str | None, currency: str) -> str:
    if amount is None:
        return ""
    text = money_text(amount, currency)
    return text if text.startswith("−") or not Decimal(amount) else f"+{text}"


def _answer(row: LearntChange) -> str:
    if row.decided_at is None:
        return ""
    by = f" by {row.decided_by.get_username()}" if row.decided_by else ""
    return f"{row.get_state_display()} on {day_text(timezone.localdate(row.decided_at))}{by}"


def _share(share: float) -> str:
    return percent_text(str(round(share, 3)))
