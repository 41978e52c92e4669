"""What may be promised for a quote, in words: two days for each option, what they rest on, whom they make late."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.ground.findings import Finding, Refused
from inventory.ground.wording import day_text, minutes_text
from quotes.models import QuoteRevision
from studio.calendar.page import HOW_DAYS_ARE_FOUND, turn_text, waits_of
from studio.calendar.work_ahead import Ahead, QuotePromise, promise_for

__all__ = ["OptionPromise", "promise_rows"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionPromise:
    """One option: a sentence, figures with their reasons, warnings of jobs that it pushes or why no plan can be made."""

    name: str
    sentence: str
    figures: list[tuple[str, str, list[tuple[str, str]]]]
    findings: tuple[Finding, ...]


def promise_rows(revision: QuoteRevision, ahead: Sequence[Ahead], *, before: str, on: date) -> list[OptionPromise]:
    """Return each option of a quote, taken before an open job or behind all of them."""
    rows = []
    for index, option in enumerate(revision.figures["quotation"]["options"]):
        try:
            found = promise_for(revision, index, on, ahead=ahead, before=before)
        except Refused as refusal:
            rows.append(OptionPromise(name=option["name"], sentence="", figures=[], findings=refusal.findings))
        else:
            rows.append(_row(found, revision, ahead, before))
    return rows


def _row(found: QuotePromise, revision: QuoteRevision, ahead: Sequence[Ahead], before: str) -> OptionPromise:
    likely, sure = day_text(found.promise.day_50), day_text(found.promise.day_90)
    due = revision.quote.due
    sentence = f"Begun today in its turn, it is likely to be finished by {likely}, and nine times in ten by {sure}."
    if due is not None:
        sentence += f" It is wanted by {day_text(due)}: {_against(due, found)}."
    names = [row.work.job for row in ahead]
    first = names[: names.index(before)] if before in names else names
    how = [
        ("Work", f"{minutes_text(found.minutes)} of planned work, allowance included."),
        ("Its turn", turn_text(first)),
        *(("Materials", words) for words in waits_of(found.materials)),
        *HOW_DAYS_ARE_FOUND,
    ]
    return OptionPromise(
        name=found.name,
        sentence=sentence,
        figures=[("Likely by", likely, how), ("A day to promise", sure, how)],
        findings=found.promise.warnings,
    )


def _against(due: date, found: QuotePromise) -> str:
    if found.promise.day_90 <= due:
        return "that can be promised"
    if found.promise.day_50 <= due:
        return "that is likely, and not sure enough to promise"
    return "that is too soon"
