"""The cut list: a job's own, and that of all jobs together whose bones, tapes and cords are not cut yet."""

from collections.abc import Sequence
from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.ground.findings import Refused
from inventory.ground.site.findings_form import RefusalsOn
from inventory.models import Lot
from inventory.shelf.acting import counts_once
from studio.bench.cut_forms import AllCutForm, opened, sealed
from studio.bench.cut_listing import cut_list_of
from studio.bench.cut_page import cut_page
from studio.bench.cutting import all_cut, fingerprint_of
from studio.jobs.finding import get_job, maker
from studio.models import Job


@require_http_methods(["GET", "POST"])
@counts_once
def cut(request: HttpRequest, pk: int) -> HttpResponse:
    """What a job wants cut, lot by lot; posted when all is cut."""
    job = get_job(pk)
    return _answer(request, [job], job=job)


@require_http_methods(["GET", "POST"])
@counts_once
def cut_together(request: HttpRequest) -> HttpResponse:
    """The same of all open jobs at once."""
    return _answer(request, list(Job.objects.open().select_related("client", "revision__quote")), job=None)


def _answer(request: HttpRequest, jobs: Sequence[Job], *, job: Job | None) -> HttpResponse:
    form = _said(request, jobs) if request.method == "POST" else None
    if form is not None and form.is_valid():
        with RefusalsOn(form):
            _, seen, of_list = opened(request.POST["list"]) or (None, "", [])
            own = [of for of in jobs if of.pk in of_list]
            all_cut(own, form.done(), seen=seen, key=uuid4(), user=maker(request))
            messages.success(request, "All is cut: what was taken is issued, and rests are back in the drawer.")
            return redirect("job-materials", job.pk) if job else redirect("bench")
    if request.method == "POST" and form is None:
        messages.error(request, "This cut list cannot be read any more. Cut from the one below.")
    try:
        found = cut_list_of(jobs)
    except Refused as refusal:
        messages.error(request, " ".join(f"{found.message} {found.hint}" for found in refusal.findings))
        return redirect("job-materials", job.pk) if job else redirect("bench")
    list_of_form = request.POST.get("list", "")
    if form is None:
        form = AllCutForm(doing=found.doing, lots=found.lots, names_jobs=job is None)
        list_of_form = sealed(found.doing, seen=fingerprint_of(found.wanted), jobs=[of.pk for of in found.jobs])
    context = {
        "job": job,
        "page": cut_page(found),
        "form": form,
        "list": list_of_form,
        "now": timezone.localtime(),
    }
    return render(request, "studio/bench/cut_list.html", context, status=422 if form.errors else 200)


def _said(request: HttpRequest, jobs: Sequence[Job]) -> AllCutForm | None:
    """The form as it was posted, over the list that it was made with; None where that is no list of these jobs."""
    said = opened(request.POST.get("list", ""))
    if said is None:
        return None
    doing, _, _ = said
    named = {taken.lot for taken in doing.taken} | {bones.lot for bones in doing.bones}
    lots = Lot.objects.select_related("item__material").in_bulk(named)
    if named - lots.keys():
        return None
    return AllCutForm(request.POST, doing=doing, lots=lots, names_jobs=len(jobs) > 1)
