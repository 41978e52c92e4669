"""A job's materials: what it is cut from, what is issued, taken back, spoiled."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.ground.findings import Refused
from inventory.ground.site.findings_form import add_refusal
from inventory.models import Lot, ReservationLine
from inventory.stock.lot_forms import remnant_of
from studio.bench import job_materials as service
from studio.bench.material_forms import IssuePlannedForm, SpoilForm, TakeBackForm
from studio.bench.material_page import materials_page
from studio.jobs.finding import get_job, maker
from studio.models import Job

STEEL = ("spiral", "flat")


def materials(request: HttpRequest, pk: int) -> HttpResponse:
    """Cutting list, bones, and every material as planned and as taken."""
    found = get_job(pk)
    page = materials_page(found, on=timezone.localdate())
    return render(request, "studio/bench/job_materials.html", {"job": found, "page": page})


@require_http_methods(["GET", "POST"])
def issue(request: HttpRequest, pk: int, line: int) -> HttpResponse:
    """Give the job what is kept for it."""
    found = get_job(pk)
    row = get_object_or_404(
        ReservationLine.objects.select_related("item__material", "lot"),
        pk=line,
        reservation__reference=found.reference,
    )
    form = IssuePlannedForm(request.POST or None, line=row)

    def doing(said: dict[str, Any]) -> None:
        service.issue_planned(
            found,
            row,
            lot=said["lot"],
            quantity=said["quantity"],
            key=said["key"],
            user=maker(request),
            takes_reserved=said["takes_reserved"],
        )

    return _act(request, found, form, f"Issue {row.item}", doing, caution=row.item.material.kind in STEEL)


@require_http_methods(["GET", "POST"])
def take_back(request: HttpRequest, pk: int, lot: int) -> HttpResponse:
    """Take back what was not used."""
    found, there = get_job(pk), _lot(lot)
    form = TakeBackForm(request.POST or None, lot=there)

    def doing(said: dict[str, Any]) -> None:
        service.take_back(
            found,
            lot=there,
            quantity=said["quantity"] or 0,
            remnant=remnant_of(said),
            is_still_needed=said["again"],
            key=said["key"],
            user=maker(request),
        )

    return _act(request, found, form, f"Take back {there.item}", doing)


@require_http_methods(["GET", "POST"])
def spoil(request: HttpRequest, pk: int, lot: int) -> HttpResponse:
    """Write off what was spoiled."""
    found, there = get_job(pk), _lot(lot)
    form = SpoilForm(request.POST or None, lot=there)

    def doing(said: dict[str, Any]) -> None:
        service.spoil(
            found,
            lot=there,
            quantity=said["quantity"],
            cause=said["cause"],
            words=said["words"],
            is_cut_again=said["is_cut_again"],
            key=said["key"],
            user=maker(request),
        )

    return _act(request, found, form, f"Spoiled: {there.item}", doing, caution=there.item.material.kind in STEEL)


def _act(
    request: HttpRequest,
    found: Job,
    form: Any,
    heading: str,
    doing: Callable[[dict[str, Any]], None],
    *,
    caution: bool = False,
) -> HttpResponse:
    """Ask, do it once, and go back to the job's materials."""
    if form.is_valid():
        try:
            doing(form.cleaned_data)
        except Refused as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{heading}: noted.")
            return redirect("job-materials", found.pk)
    context = {"job": found, "form": form, "heading": heading, "cuts_steel": caution}
    return render(request, "studio/bench/job_material_act.html", context, status=422 if form.errors else 200)


def _lot(pk: int) -> Lot:
    return get_object_or_404(Lot.objects.select_related("item__material"), pk=pk)
