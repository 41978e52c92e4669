"""Which lays idle time is for: kept ones that may come out shorter, of drafts and of quotes that are out."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from inventory.ground.findings import Refused
from quotes.defaults import desk_defaults
from quotes.desk.figures import commission_of
from quotes.desk.kept_lays import kept_by_key, lays_of, may_be_shorter
from quotes.lay.lay_plan import Effort, LayProblem
from quotes.models import LaySearch, QuoteRevision

__all__ = ["Candidate", "candidates", "turns_had", "worth_a_turn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A lay that may come out shorter, by the key that it is kept by."""

    key: str
    problem: LayProblem


def candidates(*, on: date) -> Iterator[Candidate]:
    """Yield the lays of quotes that a turn of idle time may make shorter, of drafts first, of the last quotes first."""
    State = QuoteRevision.State
    drafts = QuoteRevision.objects.filter(state=State.DRAFT)
    out = QuoteRevision.objects.standing(State.SENT, on=on)
    numbers = [*drafts.order_by("-pk").values_list("pk", flat=True), *out.order_by("-pk").values_list("pk", flat=True)]
    for number in numbers:
        revision = QuoteRevision.objects.select_related("quote", "pattern__pattern").filter(pk=number).first()
        if revision is not None:
            yield from _of(revision)


def worth_a_turn(problems: Mapping[str, LayProblem]) -> Iterator[Candidate]:
    """Yield those of lays, by the keys that they are kept by, that a turn of idle time may make shorter.

    Such a lay ended early, or is above what is possible and was never searched thoroughly; and has had few turns.
    """
    for key, plan in kept_by_key(problems).items():
        if may_be_shorter(problems[key], plan, Effort.THOROUGH) and turns_had(key) < desk_defaults().lay.idle_turns:
            yield Candidate(key=key, problem=problems[key])


def turns_had(key: str) -> int:
    """Return how many turns of idle time a lay has had."""
    return LaySearch.objects.filter(key=key, asked_by=None).exclude(state__in=LaySearch.UNDER_WAY).count()


def _of(revision: QuoteRevision) -> Iterator[Candidate]:
    try:
        problems = lays_of(commission_of(revision.inputs, revision.pattern))
    except Refused:
        return
    yield from worth_a_turn(problems)
