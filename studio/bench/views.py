"""The bench: jobs in the order of work, and the timer that runs."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory.shelf.acting import counts_once
from quotes.models import QuoteRevision
from studio.bench import job_making as service
from studio.bench.bench_page import bench_page, running_row
from studio.jobs.finding import did, get_job, maker
from studio.models import Job

PLACES = {"up": -1, "down": 1}


def bench(request: HttpRequest) -> HttpResponse:
    """Jobs in the order of work, what each waits for, and quotes that could begin."""
    return render(
        request, "studio/bench/bench.html", {"page": bench_page(user=maker(request), on=timezone.localdate())}
    )


def timer(request: HttpRequest) -> HttpResponse:
    """The timer that runs, asked for again while a page stands open."""
    context = {"running": running_row(maker(request)), "back": request.GET.get("back", "")}
    return render(request, "studio/bench/_timer.html", context)


@require_POST
@counts_once
def begin(request: HttpRequest, revision: int) -> HttpResponse:
    """Make the job of an accepted quote; where it is made already, go to it."""
    accepted = get_object_or_404(QuoteRevision, pk=revision)
    job = Job.objects.filter(revision=accepted).first()
    if job is None:
        if not did(request, lambda: service.make_job(accepted, user=maker(request), on=timezone.localdate())):
            return redirect("quotes:revision", accepted.quote_id, accepted.number)
        job = Job.objects.get(revision=accepted)
    return redirect("job", job.pk)


@require_POST
def move(request: HttpRequest, pk: int) -> HttpResponse:
    """Put a job one place earlier or later in the order of work."""
    service.move_job_by(get_job(pk), places=PLACES.get(request.POST.get("to", ""), 0))
    return redirect("bench")
