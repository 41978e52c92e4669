"""Time at the bench: timers, time written down, corrections."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.wording import minutes_text, named_text
from studio.bench import timing
from studio.bench.job_page import MOST_NAMED, time_page
from studio.bench.time_forms import CorrectForm, SittingForm, StartForm, StopForm, WriteForm
from studio.jobs.finding import did, get_job, get_operation, maker
from studio.models import JobOperation, TimeEntry

TOO_OLD = "This page was too old to start a timer. Press once more."
NONE_CHECKED = "No operation was checked. Check those that you begin with."
FIELDS = {"day": "day", "minutes": "minutes", "why": "why"}


@require_POST
def start(request: HttpRequest, pk: int, operation: int) -> HttpResponse:
    """Start a timer; it runs until it is stopped, on this device or another."""
    job_operation = get_operation(pk, operation)
    form = StartForm(request.POST, operations=_others(job_operation) if "operations" in request.POST else ())
    if form.is_valid():
        key, cause, also = (form.cleaned_data[name] for name in ("key", "cause", "operations"))
        _start(request, lambda: timing.start(job_operation, user=maker(request), key=key, cause=cause, also=also))
    else:
        messages.error(request, TOO_OLD)
    return redirect("job", pk)


@require_POST
def start_several(request: HttpRequest, pk: int) -> HttpResponse:
    """Start one timer over the operations that were checked."""
    form = SittingForm(request.POST, operations=get_job(pk).operations.all(), must_choose=True)
    if form.is_valid():
        key, (first, *also) = form.cleaned_data["key"], form.cleaned_data["operations"]
        _start(request, lambda: timing.start(first, user=maker(request), key=key, also=also))
    else:
        messages.error(request, NONE_CHECKED if "operations" in form.errors else TOO_OLD)
    return redirect("job", pk)


@require_POST
def join(request: HttpRequest, pk: int, operation: int) -> HttpResponse:
    """Work an operation in the sitting that the timer takes."""
    job_operation = get_operation(pk, operation)
    did(request, lambda: timing.join(job_operation, user=maker(request)))
    return redirect("job", pk)


def _start(request: HttpRequest, act: Callable[[], object]) -> None:
    """Start a timer, and say of one that ran before what became of it."""
    before = timing.running(maker(request))
    did(request, act)
    if before is not None:
        _tell_if_stopped(request, before)


def _others(operation: JobOperation) -> list[JobOperation]:
    """The other operations of its job."""
    return list(operation.job.operations.exclude(pk=operation.pk))


def _tell_if_stopped(request: HttpRequest, before: TimeEntry) -> None:
    """Say that a timer was stopped because another was started; the one that goes on says so itself."""
    before.refresh_from_db()
    if before.ended_at is not None:
        messages.info(request, f"The timer at {before.operation} was stopped: {minutes_text(before.minutes or 0)}.")


@require_POST
def stop(request: HttpRequest) -> HttpResponse:
    """Stop the timer that the page showed."""
    form = StopForm(request.POST)
    seen = form.cleaned_data["entry"] if form.is_valid() else None
    entry = timing.stop(user=maker(request), only=seen)
    if entry is None:
        messages.warning(request, "That timer was stopped already, on another device or in another window.")
    elif timing.is_long(entry.minutes or 0):
        messages.warning(
            request,
            f"{minutes_text(entry.minutes or 0)} were taken at {entry.operation}. "
            "Was the timer forgotten? Correct it then.",
        )
    back = request.POST.get("back", "")
    return redirect(back if url_has_allowed_host_and_scheme(back, allowed_hosts=None) else "bench")


@require_http_methods(["GET", "POST"])
def operation_time(request: HttpRequest, pk: int, operation: int) -> HttpResponse:
    """An operation's time: what was taken, with every correction, and more to write down."""
    job_operation = get_operation(pk, operation)
    others = _others(job_operation)
    form = WriteForm(request.POST or None, operations=others)
    if form.is_valid():
        said = dict(form.cleaned_data)
        with RefusalsOn(form, fields=FIELDS):
            timing.write_down(job_operation, user=maker(request), also=said.pop("operations"), **said)
            return redirect("operation-time", pk, operation)
    context = {
        "operation": job_operation,
        "form": form,
        "start": StartForm(operations=[other for other in others if other.done_at is None], auto_id="start_%s"),
        "page": time_page(job_operation, user=maker(request)),
        "here": reverse("operation-time", args=[pk, operation]),
    }
    return render(request, "studio/bench/operation_time.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def correct(request: HttpRequest, entry: int) -> HttpResponse:
    """Put another figure in place of an entry."""
    entries = TimeEntry.objects.with_operations().select_related("operation__job", "by")
    time_entry = get_object_or_404(entries, pk=entry)
    job = time_entry.operation.job
    form = CorrectForm(request.POST or None, entry=time_entry, operations=job.operations.all())
    if form.is_valid():
        with RefusalsOn(form, fields=FIELDS):
            corrected = timing.correct(time_entry, user=maker(request), **form.cleaned_data)
            return redirect("operation-time", job.pk, corrected.operation_id)
    context = {
        "entry": time_entry,
        "form": form,
        "length": minutes_text(time_entry.so_far_min),
        "worked_at": named_text([operation.name for operation in time_entry.worked_operations()], most=MOST_NAMED),
    }
    return render(request, "studio/bench/time_correct.html", context, status=422 if form.errors else 200)
