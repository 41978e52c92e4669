"""Photographs while they are measured: how far they are, others in place of those that cannot be used, thrown away."""

from collections.abc import Sequence

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRedirect

from inventory.ground.site.htmx import HtmxRequest
from inventory.ground.site.uploads import takes_uploads
from quotes.defaults import desk_defaults
from quotes.models import PhotographInSet, PhotographSet
from quotes.patterns.measuring import (
    drop_set,
    measure_next,
    photographs_in,
    put_in_place_of_refused,
    say_ruler,
    try_again,
)
from quotes.patterns.measuring_page import measuring_page
from quotes.patterns.photograph_forms import FEWER, MOST_PHOTOGRAPHS, PhotographsForm, RulerForm
from quotes.workroom.settings import workroom


@require_http_methods(["GET", "POST"])
def measuring(request: HtmxRequest, pk: int) -> HttpResponse:
    """See how far photographs are measured; posted, the page takes the next step, one photograph at most."""
    if request.method != "POST":
        return _shown(request, get_object_or_404(PhotographSet, pk=pk))
    try:
        found = PhotographSet.objects.get(pk=pk)
        is_mine = measure_next(found)
    except PhotographSet.DoesNotExist:
        return _thrown_away(request)
    if not request.htmx:
        return redirect("quotes:pattern-measuring", pk)
    return _shown(request, found, is_elsewhere=not is_mine)


@takes_uploads(desk_defaults().photograph.most_mb, FEWER)
@require_POST
def others(request: HtmxRequest, pk: int) -> HttpResponse:
    """Go on with other photographs in place of those that cannot be used, or without them."""
    found = PhotographSet.objects.filter(pk=pk).first()
    if found is None:
        return _thrown_away(request)
    if "without" in request.POST:
        put_in_place_of_refused(found, ())
        return _led(request, reverse("quotes:pattern-measuring", args=[pk]))
    form = PhotographsForm(request.POST, request.FILES, room_for=_room_for(photographs_in(found)))
    if form.is_valid():
        uploads = form.cleaned_data["photographs"]
        if not put_in_place_of_refused(found, uploads):
            names = ", ".join(upload.name or "" for upload in uploads)
            messages.warning(
                request,
                f"What you sent, {names}, was not taken in: meanwhile this set was gone on with, in another tab.",
            )
        return _led(request, reverse("quotes:pattern-measuring", args=[pk]))
    return _shown(request, found, form=form, status=422)


@require_POST
def again(request: HtmxRequest, pk: int) -> HttpResponse:
    """Try those photographs once more that failed by the clock or from outside."""
    try_again(get_object_or_404(PhotographSet, pk=pk))
    return redirect("quotes:pattern-measuring", pk)


@require_POST
def ruler(request: HtmxRequest, pk: int) -> HttpResponse:
    """Say anew how long the ruler is among the pieces."""
    found = get_object_or_404(PhotographSet, pk=pk)
    form = RulerForm(request.POST, room=workroom())
    if form.is_valid():
        say_ruler(found, form.cleaned_data["ruler"])
        return redirect("quotes:pattern-measuring", pk)
    return _shown(request, found, ruler_form=form, status=422)


@require_POST
def drop(request: HtmxRequest, pk: int) -> HttpResponse:
    """Throw the photographs away."""
    found = get_object_or_404(PhotographSet, pk=pk)
    if found.hand_in_id is not None:
        # They came onto the table meanwhile, where they are thrown away with it.
        return redirect("quotes:pattern-table", found.hand_in_id)
    drop_set(found)
    messages.info(request, "Thrown away; nothing of it is kept.")
    if found.pattern_id is not None:
        return redirect("quotes:pattern-photographs-next", found.pattern_id)
    return redirect("quotes:pattern-photographs")


def _room_for(photographs: Sequence[PhotographInSet]) -> int:
    return MOST_PHOTOGRAPHS - sum(not one.refused for one in photographs)


def _shown(
    request: HtmxRequest,
    found: PhotographSet,
    *,
    is_elsewhere: bool = False,
    form: PhotographsForm | None = None,
    ruler_form: RulerForm | None = None,
    status: int = 200,
) -> HttpResponse:
    if found.hand_in_id is not None:
        return _led(request, reverse("quotes:pattern-table", args=[found.hand_in_id]))
    photographs = photographs_in(found)
    page = measuring_page(found, photographs, is_elsewhere=is_elsewhere)
    context = {
        "found": found,
        "page": page,
        "form": form or PhotographsForm(room_for=_room_for(photographs)),
        "ruler": ruler_form or (RulerForm(room=workroom(), ruler_mm=found.ruler_mm) if page.together else None),
    }
    return render(request, "quotes/patterns/measuring.html", context, status=status)


def _thrown_away(request: HtmxRequest) -> HttpResponse:
    messages.info(request, "These photographs were thrown away.")
    return _led(request, reverse("quotes:pattern-photographs"))


def _led(request: HtmxRequest, address: str) -> HttpResponse:
    return HttpResponseClientRedirect(address) if request.htmx else redirect(address)
