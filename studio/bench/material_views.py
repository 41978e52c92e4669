"""A job's materials: what it is cut from, what is issued, taken back, spoiled."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.keyed_forms import Cleaned
from inventory.models import Lot, ReservationLine
from inventory.shelf.acting import counts_once
from inventory.stock.lot_forms import remnant_of
from studio.bench import job_materials as service
from studio.bench.material_forms import IssuePlannedForm, SpoilForm, TakeBackForm
from studio.bench.material_page import STEEL, materials_page
from studio.jobs.finding import did, get_job, maker
from studio.models import Job


def materials(request: HttpRequest, pk: int) -> HttpResponse:
    """Cutting list, bones, and every material as planned and as taken."""
    return _materials(request, get_job(pk))


@require_http_methods(["GET", "POST"])
def issue(request: HttpRequest, pk: int, line: int) -> HttpResponse:
    """Give the job what is kept for it."""
    job = get_job(pk)
    kept_line = get_object_or_404(
        ReservationLine.objects.select_related("item__material", "lot"),
        pk=line,
        reservation__reference=job.reference,
    )
    form = IssuePlannedForm(request.POST or None, line=kept_line)

    def act(cleaned: Cleaned) -> None:
        service.issue_planned(
            job,
            kept_line,
            lot=cleaned["lot"],
            quantity=cleaned["quantity"],
            key=cleaned["key"],
            user=maker(request),
            takes_reserved=cleaned["takes_reserved"],
        )

    return _ask(request, job, form, f"Issue {kept_line.item}", act, cuts_steel=kept_line.item.material.kind in STEEL)


@require_POST
@counts_once
def take_stand_in(request: HttpRequest, pk: int, line: int, item: int) -> HttpResponse:
    """Keep what would do in place of what lacks; what is refused is said above the materials as they stand now."""
    job = get_job(pk)

    def act() -> None:
        offer = service.take_stand_in(job, line, item, user=maker(request), on=timezone.localdate())
        messages.success(request, f"{offer.item} is kept instead; the diary of the job says why.")

    return redirect("job-materials", pk) if did(request, act) else _materials(request, job, status=422)


@require_http_methods(["GET", "POST"])
def take_back(request: HttpRequest, pk: int, lot: int) -> HttpResponse:
    """Take back what was not used."""
    job, taken_lot = get_job(pk), _lot(lot)
    form = TakeBackForm(request.POST or None, lot=taken_lot)

    def act(cleaned: Cleaned) -> None:
        service.take_back(
            job,
            lot=taken_lot,
            quantity=cleaned["quantity"] or 0,
            remnant=remnant_of(cleaned),
            is_still_needed=cleaned["again"],
            key=cleaned["key"],
            user=maker(request),
        )

    return _ask(request, job, form, f"Take back {taken_lot.item}", act)


@require_http_methods(["GET", "POST"])
def spoil(request: HttpRequest, pk: int, lot: int) -> HttpResponse:
    """Write off what was spoiled."""
    job, taken_lot = get_job(pk), _lot(lot)
    form = SpoilForm(request.POST or None, lot=taken_lot)

    def act(cleaned: Cleaned) -> None:
        service.spoil(
            job,
            lot=taken_lot,
            quantity=cleaned["quantity"],
            cause=cleaned["cause"],
            words=cleaned["words"],
            is_cut_again=cleaned["is_cut_again"],
            key=cleaned["key"],
            user=maker(request),
        )

    return _ask(request, job, form, f"Spoiled: {taken_lot.item}", act, cuts_steel=taken_lot.item.material.kind in STEEL)


def _materials(request: HttpRequest, job: Job, *, status: int = 200) -> HttpResponse:
    page = materials_page(job, on=timezone.localdate())
    return render(request, "studio/bench/job_materials.html", {"job": job, "page": page}, status=status)


def _ask(
    request: HttpRequest,
    job: Job,
    form: Any,
    heading: str,
    act: Callable[[Cleaned], None],
    *,
    cuts_steel: bool = False,
) -> HttpResponse:
    """Ask, do it once, and go back to the job's materials."""
    if form.is_valid():
        with RefusalsOn(form):
            act(form.cleaned_data)
            messages.success(request, f"{heading}: noted.")
            return redirect("job-materials", job.pk)
    context = {"job": job, "form": form, "heading": heading, "cuts_steel": cuts_steel}
    return render(request, "studio/bench/job_material_act.html", context, status=422 if form.errors else 200)


def _lot(pk: int) -> Lot:
    return get_object_or_404(Lot.objects.select_related("item__material"), pk=pk)
