"""What passes between maker and client: fittings, changes, payments, photographs."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.findings import Refused
from inventory.ground.site.downloads import download, picture
from inventory.ground.site.findings_form import add_refusal
from studio.client import fittings
from studio.client.change_orders import agree_change
from studio.client.delivery import deliver as hand_over
from studio.client.delivery import delivery_findings
from studio.client.forms import ChangeForm, DeliverForm, FittingForm, HeldForm, PaymentForm, PhotoForm
from studio.client.page import client_page
from studio.client.payments import bill, take_payment
from studio.client.personal_data import keep_photo, take_away_photo
from studio.client.receipt import receipt, receipt_pdf
from studio.jobs.finding import did, get_job, maker
from studio.models import Fitting, Job, JobPhoto, Payment

DAYS = ("day", "held_on", "agreed_on")


def client(request: HttpRequest, pk: int) -> HttpResponse:
    """Fittings, changes, the bill, photographs."""
    found = get_job(pk)
    context = {"job": found, "page": client_page(found, on=timezone.localdate())}
    return render(request, "studio/client/job_client.html", context)


@require_http_methods(["GET", "POST"])
def fitting_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Plan a fitting."""
    found = get_job(pk)
    form = FittingForm(request.POST or None)
    return _ask(request, found, form, "Plan a fitting", "Plan it", lambda said: fittings.plan_fitting(found, **said))


@require_http_methods(["GET", "POST"])
def fitting_move(request: HttpRequest, pk: int, fitting: int) -> HttpResponse:
    """Put a fitting on another time, or call it off."""
    found, row = get_job(pk), _fitting(pk, fitting)
    if "off" in request.POST:
        did(request, lambda: fittings.call_off_fitting(row, user=maker(request)))
        return redirect("job-client", pk)
    form = FittingForm(request.POST or None, fitting=row)

    def doing(said: dict[str, Any]) -> None:
        fittings.move_fitting(row, at=said["at"], minutes=said["minutes"], notes=said["notes"], user=maker(request))

    return _ask(request, found, form, f"Move the {_lowered(row)}", "Keep it", doing, can_call_off=True)


@require_http_methods(["GET", "POST"])
def fitting_held(request: HttpRequest, pk: int, fitting: int) -> HttpResponse:
    """Note what a fitting found."""
    found, row = get_job(pk), _fitting(pk, fitting)
    form = HeldForm(request.POST or None, fitting=row)

    def doing(said: dict[str, Any]) -> None:
        fittings.hold_fitting(
            row,
            held_on=said["held_on"],
            notes=said["notes"],
            alterations=said["alterations"],
            signs_toile=said.get("signs_toile", False),
            user=maker(request),
        )

    return _ask(request, found, form, f"What the {_lowered(row)} found", "Note it", doing)


@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Note a change that the client agreed to."""
    found = get_job(pk)
    form = ChangeForm(request.POST or None, currency=found.currency)

    def doing(said: dict[str, Any]) -> None:
        agree_change(
            found,
            what=said["what"],
            net_minor=form.net_minor,
            minutes=said["minutes"],
            agreed_on=said["agreed_on"],
            user=maker(request),
        )

    return _ask(request, found, form, "A change agreed", "Add it to the bill", doing)


@require_http_methods(["GET", "POST"])
def payment(request: HttpRequest, pk: int) -> HttpResponse:
    """Note a payment."""
    found = get_job(pk)
    is_cancelled = found.stage == Job.Stage.CANCELLED
    form = PaymentForm(request.POST or None, currency=found.currency, owed=bill(found), is_cancelled=is_cancelled)

    def doing(said: dict[str, Any]) -> None:
        kept = take_payment(
            found,
            what=said["what"],
            amount_minor=said["amount"],
            fee_minor=said["fee"] or 0,
            day=said["day"],
            note=said["note"],
            key=said["key"],
            user=maker(request),
        )
        messages.success(request, f"{kept} is noted.")

    return _ask(request, found, form, "A payment", "Note the payment", doing)


@require_http_methods(["GET", "POST"])
def photo_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a photograph."""
    found = get_job(pk)
    form = PhotoForm(request.POST or None, request.FILES or None)
    return _ask(
        request,
        found,
        form,
        "A photograph",
        "Keep it",
        lambda said: keep_photo(found, photo=said["photo"], words=said["words"]),
        takes_file=True,
    )


def photo(request: HttpRequest, pk: int) -> FileResponse:
    """A photograph, while the client's leave stands."""
    row = get_object_or_404(JobPhoto, pk=pk, job__client__may_photograph=True)
    response = picture(row.photo)
    response["Cache-Control"] = "private, no-store"
    return response


@require_POST
def photo_take_away(request: HttpRequest, pk: int) -> HttpResponse:
    """Delete a photograph."""
    row = get_object_or_404(JobPhoto.objects.select_related("job"), pk=pk)
    take_away_photo(row, user=maker(request))
    return redirect("job-client", row.job_id)


def _ask(
    request: HttpRequest,
    found: Job,
    form: Any,
    heading: str,
    verb: str,
    doing: Callable[[dict[str, Any]], object],
    *,
    can_call_off: bool = False,
    takes_file: bool = False,
) -> HttpResponse:
    """Ask for something, do it once, and go back to the client's side of the job."""
    if form.is_valid():
        try:
            doing(form.cleaned_data)
        except Refused as refusal:
            day = next((name for name in DAYS if name in form.fields), "day")
            add_refusal(form, refusal, fields={"amount": "amount", "day": day})
        else:
            return redirect("job-client", found.pk)
    context = {
        "job": found,
        "form": form,
        "heading": heading,
        "verb": verb,
        "can_call_off": can_call_off,
        "takes_file": takes_file,
        "back": "job-client",
    }
    return render(request, "studio/bench/job_form.html", context, status=422 if form.errors else 200)


def _fitting(job: int, pk: int) -> Fitting:
    return get_object_or_404(Fitting.objects.select_related("job"), pk=pk, job=job)


def _lowered(fitting: Fitting) -> str:
    words: str = fitting.get_kind_display()
    return words[:1].lower() + words[1:]


@require_http_methods(["GET", "POST"])
def deliver(request: HttpRequest, pk: int) -> HttpResponse:
    """Note what was invoiced and hand the piece over."""
    found = get_job(pk)
    form = DeliverForm(request.POST or None, job=found)
    if form.is_valid():
        try:
            hand_over(found, invoice=form.invoice, on=form.cleaned_data["on"], user=maker(request))
        except Refused as refusal:
            add_refusal(form, refusal, fields={"day": "on"})
        else:
            messages.success(request, "Delivered. What was still kept for it is free again.")
            return redirect("job", pk)
    context = {"job": found, "form": form, "findings": delivery_findings(found) if found.is_open else []}
    return render(request, "studio/client/job_deliver.html", context, status=422 if form.errors else 200)


def payment_receipt(request: HttpRequest, number: int) -> HttpResponse:
    """A payment on paper."""
    found = get_object_or_404(Payment.objects.select_related("job__client", "job__revision__quote"), number=number)
    return download(receipt_pdf(receipt(found)), f"receipt-{number}.pdf")
