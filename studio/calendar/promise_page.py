"""What may be promised for a quote, in words: two days for each option, what they rest on, whom they make late."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.ground.findings import Finding, Refused
from inventory.ground.wording import day_text, minutes_text
from quotes.models import QuoteRevision
from studio.calendar.days import Days
from studio.calendar.evidence import how_days_are_found, turn_text
from studio.calendar.page import waits_of
from studio.calendar.work_ahead import Ahead, QuotePromise, promise_for

__all__ = ["OptionPromise", "promise_rows"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionPromise:
    """One option: a sentence, figures with their reasons, warnings of jobs that it pushes or why no plan can be made."""

    name: str
    sentence: str
    figures: list[tuple[str, str, list[tuple[str, str]]]]
    findings: tuple[Finding, ...]


def promise_rows(
    revision: QuoteRevision, ahead: Sequence[Ahead], days: Days, *, before: str, on: date
) -> list[OptionPromise]:
    """Return each option of a quote, taken before an open job or behind all of them."""
    rows = []
    for index, option in enumerate(revision.snapshot.quotation.options):
        try:
            promised = promise_for(revision, index, on, ahead=ahead, days=days, before=before)
        except Refused as refusal:
            rows.append(OptionPromise(name=option.name, sentence="", figures=[], findings=refusal.findings))
        else:
            rows.append(_option_promise(promised, revision, ahead, days, before))
    return rows


def _option_promise(
    promised: QuotePromise, revision: QuoteRevision, ahead: Sequence[Ahead], days: Days, before: str
) -> OptionPromise:
    likely, sure = day_text(promised.promise.day_50), day_text(promised.promise.day_90)
    due = revision.quote.due
    sentence = f"Begun today in its turn, it is likely to be finished by {likely}, and nine times in ten by {sure}."
    if due is not None:
        sentence += f" It is wanted by {day_text(due)}: {_against(due, promised)}."
    references = [open_job.work.job for open_job in ahead]
    first = references[: references.index(before)] if before in references else references
    how = [
        ("Work", f"{minutes_text(promised.minutes)} of planned work, allowance included."),
        ("Its turn", turn_text(first)),
        *(("Materials", words) for words in waits_of(promised.materials)),
        *how_days_are_found(days.worked),
    ]
    return OptionPromise(
        name=promised.name,
        sentence=sentence,
        figures=[("Likely by", likely, how), ("A day to promise", sure, how)],
        findings=promised.promise.warnings,
    )


def _against(due: date, promised: QuotePromise) -> str:
    if promised.promise.day_90 <= due:
        return "that can be promised"
    if promised.promise.day_50 <= due:
        return "that is likely, and not sure enough to promise"
    return "that is too soon"
