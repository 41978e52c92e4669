"""Patterns: handed in, drafted from measures, looked at, revised."""

from django.db.models import Count
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods
from django_htmx.http import HttpResponseClientRedirect

from inventory.ground.findings import Refused
from inventory.ground.site.exporting import exported
from inventory.ground.site.filters import NameFilter
from inventory.ground.site.findings_form import RefusalsOn, add_refusal
from inventory.ground.site.htmx import HtmxRequest
from inventory.ground.site.maker import maker
from inventory.ground.site.paging import turn_to_page
from inventory.ground.units import LengthUnit
from inventory.shelf.acting import act_once, counts_once
from quotes.clients.measuring import middle_mm
from quotes.models import Client, KeptPattern, PatternRevision
from quotes.patterns.forms import BlockForm, PatternFileForm
from quotes.patterns.kept_patterns import keep_block, pattern_of_upload, save_pattern
from quotes.patterns.page import pattern_page
from quotes.patterns.picking import Picking, pickings_of
from quotes.patterns.tables import PatternTable
from quotes.workroom.settings import workroom


def listing(request: HttpRequest) -> HttpResponse:
    """All kept patterns."""
    patterns = KeptPattern.objects.annotate(revision_count=Count("revisions")).order_by("name")
    narrowed = NameFilter(request.GET, queryset=patterns)
    table = PatternTable(
        narrowed.qs, empty_text="No pattern stands here. Hand in a file, or draft one from measures for a first price."
    )
    turn_to_page(table, request)
    return exported(table, request, name="patterns") or render(
        request, "quotes/patterns/patterns.html", {"filter": narrowed, "table": table}
    )


@require_http_methods(["GET", "POST"])
def upload(request: HtmxRequest, pk: int | None = None) -> HttpResponse:
    """Hand in a file as a new pattern or as the next revision of a kept one."""
    kept = get_object_or_404(KeptPattern, pk=pk) if pk else None
    form = PatternFileForm(
        request.POST or None, request.FILES or None, kept=kept, length_unit=LengthUnit(workroom().length_unit)
    )
    pickings: list[Picking] = []
    if form.is_valid():
        cleaned = form.cleaned_data
        try:
            revision = pattern_of_upload(
                upload=cleaned["file"],
                options=form.options,
                pattern=kept or KeptPattern(name=cleaned["name"]),
                user=maker(request),
                body_waist_mm=cleaned["body_waist"],
                gap_mm=cleaned["lacing_gap"],
            )
            return act_once(request, lambda: _to_pattern(request, save_pattern(revision)))
        except Refused as refusal:
            add_refusal(form, refusal, fields={"name": "name"})
            pickings = pickings_of(cleaned["file"], form.options, refusal)
    context = {"form": form, "kept": kept, "pickings": pickings}
    return render(request, "quotes/patterns/pattern_file.html", context, status=422 if form.errors else 200)


def _to_pattern(request: HtmxRequest, revision: PatternRevision) -> HttpResponse:
    address = reverse("quotes:pattern", args=[revision.pattern.pk])
    return HttpResponseClientRedirect(address) if request.htmx else redirect(address)


@require_http_methods(["GET", "POST"])
@counts_once
def from_measures(request: HttpRequest) -> HttpResponse:
    """Draft an estimating block, from a client's latest measures where one is named; never to sew from."""
    unit = LengthUnit(workroom().length_unit)
    client = (
        Client.objects.filter(pk=request.GET["client"]).first() if request.GET.get("client", "").isdigit() else None
    )
    measured = client.measurement_sets.first() if client else None
    form = BlockForm(
        request.POST or None,
        length_unit=unit,
        name=str(measured or ""),
        middles_mm={code: middle_mm(takes) for code, takes in measured.takes_mm.items()} if measured else None,
    )
    if form.is_valid():
        with RefusalsOn(form, fields={"name": "name"}):
            revision = keep_block(block=form.block, user=maker(request))
            if client:
                return redirect(f"{reverse('quotes:new')}?pattern={revision.pattern.pk}&client={client.pk}")
            return redirect("quotes:pattern", revision.pattern.pk)
    context = {"form": form, "unit": unit, "client": client}
    return render(request, "quotes/patterns/block.html", context, status=422 if form.errors else 200)


def show(request: HttpRequest, pk: int) -> HttpResponse:
    """A pattern's drawing, panels and truing report."""
    kept = get_object_or_404(KeptPattern, pk=pk)
    revisions = list(kept.revisions.select_related("pattern").order_by("-number"))
    number = request.GET.get("revision", "")
    chosen = next((revision for revision in revisions if str(revision.number) == number), revisions[0])
    page = pattern_page(chosen, unit=LengthUnit(workroom().length_unit))
    return render(request, "quotes/patterns/pattern.html", {"kept": kept, "page": page, "revisions": revisions})


def as_json(request: HttpRequest, pk: int) -> JsonResponse:
    """The latest revision as a pattern file."""
    kept = get_object_or_404(KeptPattern, pk=pk)
    response = JsonResponse(kept.revisions.latest("number").document, json_dumps_params={"ensure_ascii": False})
    response["Content-Disposition"] = 'attachment; filename="pattern.json"'
    return response
