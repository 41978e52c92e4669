"""Lays of several jobs in tests, asked for and drawn at once, as a worker does in the background."""

from collections.abc import Sequence

from django.contrib.auth.models import User

from inventory.models import StockItem
from quotes.lay.lay_plan import Effort
from quotes.lay.laying import laid
from studio.laying.asking import LayWishes, ask_for
from studio.laying.drawing_up import drawn_up, keep_drawn
from studio.laying.kept import LAY_QUESTION
from studio.laying.wanting import JobWants
from studio.models import JointLay

__all__ = ["drawn_at_once"]


def drawn_at_once(
    item: StockItem, jobs: Sequence[JobWants], wishes: LayWishes, *, effort: Effort = Effort.NONE
) -> JointLay:
    """The lay of jobs: without effort in rows pushed together, the same whatever the machine has to do."""
    search = ask_for(item, jobs, wishes, user=User.objects.earliest("pk"))
    question = LAY_QUESTION.read(search.question)
    keep_drawn(search, drawn_up(question, lambda problem: laid(problem, effort)))
    return search.drawn.latest("pk")
