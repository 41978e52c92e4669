"""A job: its page, ticks, stages, dates, delivery, its end."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.site.downloads import download
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.wording import minor_text
from studio.bench import job_making as service
from studio.bench.job_forms import CancelForm, DatesForm, StageForm
from studio.bench.job_materials import worth_minor
from studio.bench.job_page import before_cutting, job_page
from studio.bench.job_sheet import job_sheet, job_sheet_pdf
from studio.bench.stages import advance, can_be_excused, next_stage
from studio.bench.ticking import tick_operation, tick_pass, tick_shell, untick_operation, untick_pass
from studio.jobs.finding import did, get_job, get_operation, maker
from studio.models import SeamPass


def job(request: HttpRequest, pk: int) -> HttpResponse:
    """What is done next, operations with their timers, seams pass by pass."""
    job = get_job(pk)
    page = job_page(job, user=maker(request), on=timezone.localdate())
    return render(request, "studio/bench/job.html", {"job": job, "page": page})


@require_http_methods(["GET", "POST"])
def stage(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a job to its next stage; the way into cutting asks first, and says what holds it up."""
    job = get_job(pk)
    today = timezone.localdate()
    following = next_stage(job)
    is_cutting = following == job.Stage.CUTTING
    findings = service.job_findings(job, on=today) if is_cutting else []
    is_excusable = bool(findings) and can_be_excused(findings)
    form = StageForm(request.POST or None, initial={"to": following}, needs_reason=is_excusable)
    if form.is_valid():
        with RefusalsOn(form):
            advance(job, user=maker(request), on=today, **form.cleaned_data)
            return redirect("job", pk)
    context = {
        "job": job,
        "form": form,
        "following": following,
        "waits": before_cutting(job, findings),
        "is_cutting": is_cutting,
        "can_be_excused": is_excusable,
    }
    return render(request, "studio/bench/job_stage.html", context, status=422 if form.errors else 200)


@require_POST
def seams(request: HttpRequest, pk: int) -> HttpResponse:
    """Tick a pass, all of a pass in a shell, or take a tick back: what the button's name says."""
    job, user, pressed = get_job(pk), maker(request), request.POST
    if "tick" in pressed:
        seam_pass = get_object_or_404(SeamPass, job=job, pk=_number(pressed["tick"]))
        did(request, lambda: tick_pass(seam_pass, user=user))
    elif "untick" in pressed:
        seam_pass = get_object_or_404(SeamPass, job=job, pk=_number(pressed["untick"]))
        did(request, lambda: untick_pass(seam_pass, user=user))
    elif "all" in pressed:
        shell, number = pressed.get("shell", ""), _number(pressed["all"])
        did(request, lambda: tick_shell(job, shell=shell, number=number, user=user))
    return redirect("job", pk)


@require_POST
def tick(request: HttpRequest, pk: int, operation: int) -> HttpResponse:
    """Note an operation as done, or open it again."""
    job_operation, user = get_operation(pk, operation), maker(request)
    if "open" in request.POST:
        did(request, lambda: untick_operation(job_operation, user=user))
    else:
        did(request, lambda: tick_operation(job_operation, user=user))
    return redirect("job", pk)


@require_http_methods(["GET", "POST"])
def dates(request: HttpRequest, pk: int) -> HttpResponse:
    """When it is wanted and what was promised."""
    job = get_job(pk)
    form = DatesForm(request.POST or None, initial={"due": job.due, "promised": job.promised})
    if form.is_valid():
        with RefusalsOn(form):
            service.set_dates(job, user=maker(request), **form.cleaned_data)
            return redirect("job", pk)
    context = {"job": job, "form": form, "heading": "Days", "verb": "Keep the days"}
    return render(request, "studio/bench/job_form.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """End a job that will not be made."""
    job = get_job(pk)
    form = CancelForm(request.POST or None)
    if form.is_valid():
        with RefusalsOn(form):
            service.cancel_job(job, why=form.cleaned_data["why"], user=maker(request))
            messages.success(request, "Cancelled. What was kept for it is free again; its history stays.")
            return redirect("bench")
    taken = worth_minor(job)
    context = {"job": job, "form": form, "taken": minor_text(taken, job.currency.code) if taken else ""}
    return render(request, "studio/bench/job_cancel.html", context, status=422 if form.errors else 200)


def _number(text: str) -> int:
    """A whole number that a button carries; 0, which nothing has, where it carries none."""
    return int(text) if text.isdecimal() and len(text) < 12 else 0


def sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The job on paper, as it stands today."""
    job = get_job(pk)
    data = job_sheet_pdf(job_sheet(job, on=timezone.localdate()))
    return download(data, f"job-{job.reference}.pdf")
