"""Learning: how well past jobs would have been foretold, and changes of minutes and losses to take or refuse."""

from collections.abc import Callable

from django.contrib import messages
from django.contrib.auth.models import User
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from studio.jobs.finding import did, maker
from studio.learning import answers
from studio.learning.learning import learning as learnt
from studio.learning.page import learning_page
from studio.learning.proposals import decided_changes
from studio.models import LearntChange


@require_safe
def learning(request: HttpRequest) -> HttpResponse:
    """What delivered jobs say today."""
    known = learnt()
    page = learning_page(
        known, answers.current_proposals(known.times), decided_changes(), answers.standing(known.times)
    )
    return render(request, "studio/learning/learning.html", {"page": page})


@require_POST
def take(request: HttpRequest, pk: int) -> HttpResponse:
    """Estimate by what was learnt."""
    return _answered(request, pk, answers.take, "is estimated by what was learnt from now on")


@require_POST
def refuse(request: HttpRequest, pk: int) -> HttpResponse:
    """Leave it as it is."""
    return _answered(request, pk, answers.refuse_change, "stays as it is")


@require_POST
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Estimate as before."""
    return _answered(request, pk, answers.take_back, "is estimated as before from now on")


def _answered(
    request: HttpRequest, pk: int, answer: Callable[[LearntChange, User], object], words: str
) -> HttpResponse:
    change = get_object_or_404(LearntChange, pk=pk)
    if did(request, lambda: answer(change, maker(request))):
        messages.success(request, f"{change.grounds.name} {words}.")
    return redirect("learning")
