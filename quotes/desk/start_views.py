"""The page that starts a quote."""

from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods
from django_htmx.http import HttpResponseClientRedirect, reswap

from inventory.ground.findings import Refused
from inventory.ground.site.findings_form import add_refusal
from inventory.ground.site.htmx import HtmxRequest
from inventory.ground.site.maker import maker
from inventory.ground.units import LengthUnit
from inventory.stock.price_list import price_list_and_skipped
from quotes.desk.cloths import cloths_to_choose
from quotes.desk.quoting import start_quote
from quotes.desk.start_forms import StartForms
from quotes.models import MeasurementSet, Quote
from quotes.patterns.picking import Picking, pickings_of
from quotes.workroom.settings import kept_constructions, readable, unreadable, workroom


@never_cache
@require_http_methods(["GET", "POST"])
def start(request: HtmxRequest) -> HttpResponse:
    """Start a quote; asked again by parts where a client has measures or a construction other layers.

    Its key stands in the address: whoever comes back to it is led to the quote that it started.
    """
    if request.method == "GET" and not request.htmx:
        key = _key_of(request.GET.get("key", ""))
        if key is None:
            return redirect(f"{request.path}?{urlencode({**request.GET.dict(), 'key': uuid4()})}")
        started = Quote.objects.filter(key=key).first()
        if started is not None:
            messages.info(request, "This quote was started before.")
            return redirect("quotes:quote", started.pk)
    room, (materials, skipped) = workroom(), price_list_and_skipped()
    measured = _measured(request.GET.get("client", ""))
    if request.htmx and "client" in request.GET and measured is None:
        return reswap(HttpResponse(), "none")
    free = cloths_to_choose(materials, on=timezone.localdate())
    if not free:
        messages.error(request, "The shelf has no cloth yet. Put your materials on the shelf first.")
    kept = kept_constructions()
    forms = StartForms(
        request,
        constructions=readable(kept),
        materials=materials,
        free=free,
        measured=measured,
        length_unit=LengthUnit(room.length_unit),
    )
    pickings: list[Picking] = []
    if request.method == "POST" and forms.are_valid():
        try:
            client, pattern = forms.piece.asked_by, forms.pattern(maker(request))
            option = forms.made.option(
                language=client.language or room.language, is_drafted=pattern.panels.estimating_only
            )
            revision = start_quote(
                client=client,
                title=forms.piece.cleaned_data["title"],
                due=forms.piece.cleaned_data["due"],
                pattern=pattern,
                options=[option],
                user=maker(request),
                key=forms.piece.cleaned_data["key"],
            )
        except Refused as refusal:
            add_refusal(forms.where_refused, refusal)
            if forms.where_refused is forms.file:
                pickings = pickings_of(forms.file.cleaned_data["file"], forms.file.options, refusal)
        else:
            address = reverse("quotes:revision", args=[revision.quote.pk, revision.number])
            return HttpResponseClientRedirect(address) if request.htmx else redirect(address)
    context = {
        "forms": forms,
        "pickings": pickings,
        "unit": room.length_unit,
        "unreadable": (*unreadable(kept), *skipped),
    }
    return render(request, "quotes/desk/start.html", context, status=422 if request.method == "POST" else 200)


def _key_of(text: str) -> UUID | None:
    """Return the key that an address names; None for what is none."""
    try:
        return UUID(text)
    except ValueError:
        return None


def _measured(client: str) -> MeasurementSet | None:
    """The latest measures of the client whose number is asked for."""
    if not client.isdecimal():
        return None
    return MeasurementSet.objects.filter(client_id=int(client)).select_related("client").first()
