"""Clients, their measures and what they said in confidence."""

from django.db.models import Count, Max
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.ground.site.exporting import exported
from inventory.ground.site.filters import NameFilter
from inventory.ground.site.maker import maker
from inventory.ground.site.paging import turn_to_page
from inventory.ground.units import LengthUnit, format_length
from inventory.shelf.acting import counts_once
from quotes.clients.clients import erase_client, export_client, keep_health, keep_measures
from quotes.clients.forms import ClientForm, HealthForm, MeasuresForm
from quotes.clients.measuring import catalogue, measuring_findings, middle_mm
from quotes.clients.signals import client_shown
from quotes.clients.tables import ClientTable
from quotes.models import Client, HealthNote, MeasurementSet
from quotes.workroom.settings import workroom


def listing(request: HttpRequest) -> HttpResponse:
    """All clients."""
    clients = Client.objects.annotate(
        measured_on=Max("measurement_sets__taken_on"), quote_count=Count("quotes", distinct=True)
    )
    narrowed = NameFilter(request.GET, queryset=clients.order_by("name", "id"))
    table = ClientTable(narrowed.qs, empty_text="No client stands here.")
    turn_to_page(table, request)
    return exported(table, request, name="clients") or render(
        request, "quotes/clients/clients.html", {"filter": narrowed, "table": table}
    )


def show(request: HttpRequest, pk: int) -> HttpResponse:
    """A client with the latest measures and all quotes."""
    client = get_object_or_404(Client, pk=pk)
    sets = list(client.measurement_sets.prefetch_related("measures")[:6])
    context = {
        "client": client,
        "sets": [_measures_table(measured) for measured in sets],
        "quotes": client.quotes.order_by("-number"),
        "matters": [matter for _, found in client_shown.send(sender=Client, client=client) for matter in found or ()],
        "has_health_note": HealthNote.objects.filter(client=client).exists(),
    }
    return render(request, "quotes/clients/client.html", context)


@require_http_methods(["GET", "POST"])
@counts_once
def edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """A new client, or changes to one."""
    client = get_object_or_404(Client, pk=pk) if pk else None
    form = ClientForm(request.POST or None, instance=client)
    if form.is_valid():
        return redirect("quotes:client", form.save().pk)
    return render(
        request, "quotes/clients/client_form.html", {"form": form, "client": client}, status=422 if form.errors else 200
    )


@require_http_methods(["GET", "POST"])
@counts_once
def measure(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down one day's measures."""
    client = get_object_or_404(Client, pk=pk)
    form = MeasuresForm(request.POST or None, length_unit=LengthUnit(workroom().length_unit))
    if form.is_valid():
        if form.takes_mm:
            cleaned = form.cleaned_data
            keep_measures(
                client=client,
                taken_on=cleaned["taken_on"],
                unit=cleaned["unit"],
                notes=cleaned["notes"],
                takes_mm=form.takes_mm,
                user=maker(request),
            )
            return redirect("quotes:client", pk)
        form.add_error(None, "Write down at least one measure.")
    return render(
        request, "quotes/clients/measures.html", {"form": form, "client": client}, status=422 if form.errors else 200
    )


@require_http_methods(["GET", "POST"])
def health(request: HttpRequest, pk: int) -> HttpResponse:
    """The health answers, on a page of their own."""
    client = get_object_or_404(Client, pk=pk)
    note = HealthNote.objects.filter(client=client).first()
    form = HealthForm(request.POST or None, initial={"answers": note.answers if note else ""})
    if form.is_valid():
        keep_health(client=client, answers=form.cleaned_data["answers"])
        return redirect("quotes:client", pk)
    response = render(request, "quotes/clients/health.html", {"form": form, "client": client})
    response["Cache-Control"] = "no-store"
    return response


def export(request: HttpRequest, pk: int) -> JsonResponse:
    """All that is known of a client, to take away."""
    client = get_object_or_404(Client, pk=pk)
    response = JsonResponse(export_client(client), json_dumps_params={"ensure_ascii": False, "indent": 1})
    response["Content-Disposition"] = f'attachment; filename="client-{pk}.json"'
    response["Cache-Control"] = "no-store"
    return response


@require_http_methods(["GET", "POST"])
def erase(request: HttpRequest, pk: int) -> HttpResponse:
    """Erase a person, after asking."""
    client = get_object_or_404(Client, pk=pk)
    if request.method == "POST":
        erase_client(client)
        return redirect("quotes:clients")
    return render(request, "quotes/clients/erase.html", {"client": client, "has_quotes": client.quotes.exists()})


def _measures_table(measured: MeasurementSet) -> dict[str, object]:
    """One set of measures for the page: middles in both units, and what is doubtful."""
    words = {kind.code: kind.words for kind in catalogue()}
    takes = measured.takes_mm
    unit = LengthUnit(measured.unit)
    findings = measuring_findings(takes, taken_on=measured.taken_on, on=timezone.localdate(), unit=unit)
    return {
        "taken_on": measured.taken_on,
        "notes": measured.notes,
        "findings": findings,
        "rows": [
            {
                "words": words.get(code, code),
                "cm": format_length(middle_mm(mm), LengthUnit.CM),
                "inches": format_length(middle_mm(mm), LengthUnit.INCH),
                "takes": ", ".join(format_length(take, unit) for take in mm),
            }
            for code, mm in takes.items()
        ],
    }
