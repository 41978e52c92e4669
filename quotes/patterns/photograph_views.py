"""From paper: the cards to print, what they measure, photographs handed in, and each photograph as a picture."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRedirect

from inventory.ground.pictures import PICTURE_TYPES
from inventory.ground.site.downloads import download
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.htmx import HtmxRequest
from inventory.ground.site.maker import maker
from inventory.ground.site.uploads import takes_uploads
from inventory.ground.units import LengthUnit, format_length
from inventory.shelf.acting import act_once
from quotes.defaults import desk_defaults
from quotes.models import KeptPattern, PatternPhotograph, Workroom
from quotes.patterns.measuring import begin_set, waiting_sets
from quotes.patterns.photograph_forms import FEWER, CardsForm, PhotographsForm, RulerForm
from quotes.patterns.photograph_hand_ins import take_photographs_away
from quotes.patterns.printed_cards import AS_FIELDS, keep_cards_measured
from quotes.photograph.card_sheet import card_sheet_pdf
from quotes.workroom.settings import workroom


@takes_uploads(desk_defaults().photograph.most_mb, FEWER)
@require_http_methods(["GET", "POST"])
def photographs(request: HtmxRequest, pk: int | None = None) -> HttpResponse:
    """Hand in photographs of paper pieces to be measured: as a new pattern, or as the next revision of one that is kept."""
    kept = get_object_or_404(KeptPattern, pk=pk) if pk else None
    room = workroom()
    is_posted = request.method == "POST"
    form = PhotographsForm(request.POST, request.FILES) if is_posted else PhotographsForm()
    ruler = RulerForm(request.POST if is_posted else None, room=room)
    if form.is_valid() and ruler.is_valid():
        with RefusalsOn(form):

            def begun() -> HttpResponse:
                uploads = form.cleaned_data["photographs"]
                ruler_mm = ruler.cleaned_data["ruler"]
                found = begin_set(uploads=uploads, room=room, pattern=kept, user=maker(request), ruler_mm=ruler_mm)
                address = reverse("quotes:pattern-measuring", args=[found.pk])
                return HttpResponseClientRedirect(address) if request.htmx else redirect(address)

            return act_once(request, begun)
    status = 422 if form.errors or ruler.errors else 200
    return _page(request, room, kept, form, CardsForm(room=room), ruler=ruler, status=status)


@require_POST
def cards_measured(request: HttpRequest) -> HttpResponse:
    """Keep what the check bars of the printed sheet measure."""
    room = workroom()
    form = CardsForm(request.POST, room=room)
    if form.is_valid():
        with RefusalsOn(form, fields=AS_FIELDS):
            keep_cards_measured(along_mm=form.cleaned_data["along"], across_mm=form.cleaned_data["across"])
            messages.success(request, "What the cards measure is kept; all photographs are measured by it.")
            return redirect("quotes:pattern-photographs")
    return _page(request, room, None, PhotographsForm(), form, status=422)


def cards(request: HttpRequest) -> HttpResponse:
    """The sheet of cards, to be printed at its true size."""
    return download(card_sheet_pdf(), "cards.pdf")


@require_POST
def take_away(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the photographs of a kept pattern away."""
    take_photographs_away(get_object_or_404(KeptPattern, pk=pk))
    messages.success(request, "The photographs are taken away; the pattern stays as it was measured.")
    return redirect("quotes:pattern", pk)


def picture(request: HttpRequest, pk: int) -> HttpResponse:
    """A photograph that lies on the table or was kept with its pattern, as a picture and nothing else."""
    found = get_object_or_404(PatternPhotograph, pk=pk)
    return HttpResponse(
        bytes(found.data),
        content_type=PICTURE_TYPES["jpeg"],
        headers={
            "Cache-Control": "private, max-age=3600",
            "Content-Security-Policy": "sandbox; default-src 'none'",
        },
    )


def _page(
    request: HttpRequest,
    room: Workroom,
    kept: KeptPattern | None,
    form: PhotographsForm,
    cards_form: CardsForm,
    *,
    status: int,
    ruler: RulerForm | None = None,
) -> HttpResponse:
    unit = LengthUnit(room.length_unit)
    bars = [room.cards_along_mm, room.cards_across_mm]
    measured = [format_length(bar, unit) for bar in bars if bar is not None]
    context = {
        "form": form,
        "kept": kept,
        "cards_form": cards_form,
        "ruler": ruler or RulerForm(room=room),
        "measured": measured if len(measured) == len(bars) else [],
        "seconds": desk_defaults().photograph.shown_seconds,
        "waiting": waiting_sets(),
    }
    return render(request, "quotes/patterns/photographs.html", context, status=status)
