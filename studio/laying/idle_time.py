"""Lays of several jobs that idle time is for: drawn ones that are not cut yet; what comes of it is drawn beside them."""

import logging
from collections.abc import Iterator

from django.db import InterfaceError, OperationalError

from quotes.defaults import desk_defaults
from quotes.desk.kept_lays import lay_key
from quotes.models import LaySearch
from quotes.searching.idle_time import Candidate, turns_had, worth_a_turn
from studio.laying.drawing_up import draw_up_anew, wanted_first
from studio.laying.kept import LAY_QUESTION
from studio.models import Job, JointLay, JointSearch

__all__ = ["candidates"]

logger = logging.getLogger(__name__)


def candidates() -> Iterator[Candidate]:
    """Yield the lays that a turn of idle time may make shorter, by the rule of those of quotes, of the last joint lays first.

    Where turns were had since a joint lay was last drawn up, it is drawn up anew from what is kept by now; the one that was
    drawn stands, and its page names one that takes less. Nothing that one of them meets keeps the others from their turns.
    """
    drawn = JointSearch.objects.filter(state=JointSearch.State.DONE).order_by("-pk")
    for pk in drawn.values_list("pk", flat=True):
        try:
            search = drawn.select_related("item", "lot").filter(pk=pk).first()
            found = list(_of(search)) if search else []
        except (InterfaceError, OperationalError):
            raise
        except Exception:
            logger.exception("A joint lay was not made shorter")
            continue
        yield from found


def _of(search: JointSearch) -> Iterator[Candidate]:
    last = search.drawn.prefetch_related("shares__job").order_by("pk").last()
    if last is None or not _can_be_cut(last):
        return
    problems = {lay_key(problem): problem for problem in wanted_first(LAY_QUESTION.read(search.question))}
    turns = LaySearch.objects.filter(key__in=problems, asked_by=None, finished_at__gt=search.looked_at or last.drawn_at)
    lacking = draw_up_anew(search) if turns.exists() else None
    if lacking is not None and turns_had(key := lay_key(lacking)) < desk_defaults().lay.idle_turns:
        yield Candidate(key=key, problem=lacking)
    yield from worth_a_turn(problems)


def _can_be_cut(lay: JointLay) -> bool:
    jobs: list[Job] = [share.job for share in lay.shares.all()]
    return lay.booked_at is None and all(job.is_open for job in jobs)
