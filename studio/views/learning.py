"""Learning: how well past jobs would have been foretold, and changes of minutes and losses to take or refuse."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from studio.models import LearntChange
from studio.pages.learning import learning_page
from studio.services import learning as service
from studio.services.learnt import decided, proposed
from studio.views.finding import did, maker


@require_safe
def learning(request: HttpRequest) -> HttpResponse:
    """What delivered jobs say today."""
    found = service.propose(timezone.localdate())
    page = learning_page(found.judged, proposed(), decided(), service.standing())
    return render(request, "studio/learning.html", {"page": page, "delivered": found.delivered})


@require_POST
def take(request: HttpRequest, pk: int) -> HttpResponse:
    """Estimate by what was learnt."""
    proposal = get_object_or_404(LearntChange, pk=pk)
    if did(request, lambda: service.take(proposal, maker(request))):
        messages.success(request, f"{proposal.evidence['name']} is estimated by what was learnt from now on.")
    return redirect("learning")


@require_POST
def refuse(request: HttpRequest, pk: int) -> HttpResponse:
    """Leave it as it is."""
    proposal = get_object_or_404(LearntChange, pk=pk)
    if did(request, lambda: service.refuse_change(proposal, maker(request))):
        messages.success(request, f"{proposal.evidence['name']} stays as it is.")
    return redirect("learning")


@require_POST
def take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Estimate as before."""
    change = get_object_or_404(LearntChange, pk=pk)
    if did(request, lambda: service.take_back(change, maker(request))):
        messages.success(request, f"{change.evidence['name']} is estimated as before from now on.")
    return redirect("learning")
