"""The calendar: when open jobs are finished, working hours and days off, what may be promised, the feed."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.ground.findings import Refused
from inventory.ground.site.findings_form import add_refusal
from inventory.shelf.acting import act_once
from quotes.models import QuoteRevision
from studio.calendar import days as service
from studio.calendar.endings import endings
from studio.calendar.forms import DayOffForm, HoursForm, PlaceForm
from studio.calendar.links import calendar_feed, link_of, links, make_link, revoke_link
from studio.calendar.page import calendar_page
from studio.calendar.promise_page import promise_rows
from studio.calendar.work_ahead import works_ahead
from studio.jobs.finding import maker
from studio.models import CalendarLink, DayOff, Job


@require_http_methods(["GET", "POST"])
def calendar(request: HttpRequest) -> HttpResponse:
    """Open jobs with their days; hours, days off and links are kept from here, one form each."""
    act = request.POST.get("act", "")
    today, ended = timezone.localdate(), endings()
    days = service.days_known(ended, today)
    hours = HoursForm(request.POST if act == "hours" else None, minutes=days.calendar.minutes_by_weekday)
    day_off = DayOffForm(request.POST if act == "day-off" else None)
    try:
        if hours.is_valid():
            service.save_hours(hours.minutes, on=today)
            messages.success(request, "The hours are kept; every day of the plan counts with them.")
            return redirect("calendar")
        if day_off.is_valid():
            said = day_off.cleaned_data
            return act_once(request, lambda: _done(service.add_day_off(**said, on=today)))
    except Refused as refusal:
        add_refusal(hours if act == "hours" else day_off, refusal, fields={"last": "last"})
    if act == "link":
        return act_once(request, lambda: _done(make_link(maker(request))))
    context = {
        "page": calendar_page(days, ended, on=today),
        "hours": hours,
        "day_off": day_off,
        "days_off": [row for row in days.days_off if row.last >= today],
        "links": [(link, request.build_absolute_uri(reverse("feed", args=[link.token]))) for link in links()],
    }
    return render(
        request, "studio/calendar/calendar.html", context, status=422 if hours.errors or day_off.errors else 200
    )


def _done(_: DayOff | CalendarLink) -> HttpResponse:
    return redirect("calendar")


@require_POST
def day_off_take_away(request: HttpRequest, pk: int) -> HttpResponse:
    """Work on those days after all."""
    service.remove_day_off(get_object_or_404(DayOff, pk=pk))
    messages.success(request, "Those days count as working days again.")
    return redirect("calendar")


@require_POST
def link_take_away(request: HttpRequest, pk: int) -> HttpResponse:
    """Revoke a link."""
    revoke_link(get_object_or_404(CalendarLink, pk=pk))
    messages.success(request, "The link is revoked: whoever has it reads nothing more.")
    return redirect("calendar")


@require_safe
def promise(request: HttpRequest, revision: int) -> HttpResponse:
    """The days that may be promised for a quote; where its job is made, the way to it."""
    quoted = get_object_or_404(QuoteRevision.objects.select_related("quote__client"), pk=revision)
    job = Job.objects.filter(revision__quote=quoted.quote_id).first()
    today = timezone.localdate()
    ahead = [] if job else works_ahead(today)
    form = PlaceForm(
        request.GET if ahead else None, jobs=[(open_job.job.reference, str(open_job.job)) for open_job in ahead]
    )
    before = form.cleaned_data["before"] if form.is_valid() else ""
    rows = [] if job else promise_rows(quoted, ahead, service.days_known(endings(), today), before=before, on=today)
    is_draft = quoted.state == QuoteRevision.State.DRAFT
    context = {
        "revision": quoted,
        "is_draft": is_draft,
        "job": job,
        "form": form,
        "rows": rows,
        "has_jobs": bool(ahead),
    }
    return render(request, "studio/calendar/promise.html", context, status=422 if form.errors else 200)


@login_not_required
@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:
    """Due dates and fittings for a calendar program that knows a secret link."""
    if link_of(token) is None:
        raise Http404
    return HttpResponse(
        calendar_feed(), content_type="text/calendar; charset=utf-8", headers={"Cache-Control": "no-store"}
    )
