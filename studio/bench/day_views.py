"""The day's close: one page, one question a job."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.wording import day_text, minutes_text
from studio.bench import day_close as service
from studio.bench.day_forms import AnswerForm, PresentForm
from studio.bench.day_page import Answer, day_page, too_short_text
from studio.jobs.finding import get_job, maker
from studio.jobs.presence import logged_on

FIELDS = {"day": "day", "minutes": "minutes", "operations": "operations", "entry": "entry"}


@require_GET
def day(request: HttpRequest) -> HttpResponse:
    """What was ticked without time, and how long the day was."""
    return _page(request)


@require_POST
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Take the answer for what was ticked at a job on a day: minutes for all together, or the entry that holds them."""
    form = AnswerForm(request.POST, job=get_job(pk))
    if form.is_valid():
        said = form.cleaned_data
        with RefusalsOn(form, fields=FIELDS):
            if said["is_elsewhere"]:
                service.put_into(said["entry"], said["operations"])
                messages.success(request, "Their time is taken to be in that entry.")
            elif said["is_undone"]:
                service.leave_undone(said["operations"])
                messages.success(request, "They count as left out.")
            else:
                key, on, minutes = said["key"], said["day"], said["minutes"]
                service.write_together(said["operations"], user=maker(request), key=key, day=on, minutes=minutes)
                messages.success(request, f"{minutes_text(minutes)} are written down.")
            return redirect("day-close")
    posted = request.POST
    refused = Answer(
        job=pk,
        day=posted.get("day", ""),
        checked=posted.getlist("operations"),
        entry=posted.get("entry", ""),
        minutes=posted.get("minutes", ""),
        faults=[str(fault) for faults in form.errors.values() for fault in faults],
    )
    return _page(request, answer=refused)


@require_POST
def present(request: HttpRequest) -> HttpResponse:
    """Keep how long somebody was at the bench on a day."""
    form, user = PresentForm(request.POST), maker(request)
    if form.is_valid():
        on, minutes = form.cleaned_data["day"], form.cleaned_data["minutes"]
        with RefusalsOn(form, fields=FIELDS):
            service.be_present(user, day=on, minutes=minutes)
            messages.success(request, f"{minutes_text(minutes)} at the bench on {day_text(on)}.")
            if on != timezone.localdate() and (words := too_short_text(minutes, logged_on(on, user))):
                messages.warning(request, words)
            return redirect("day-close")
    return _page(request, form=form)


def _page(request: HttpRequest, *, answer: Answer | None = None, form: PresentForm | None = None) -> HttpResponse:
    page = day_page(user=maker(request), on=timezone.localdate(), answer=answer)
    context = {"page": page, "form": form or PresentForm(initial={"minutes": page.present_min})}
    return render(request, "studio/bench/day.html", context, status=422 if answer or form else 200)
