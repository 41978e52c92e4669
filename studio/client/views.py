"""What passes between maker and client: fittings, changes, payments, lower prices, photographs."""

from collections.abc import Callable, Mapping
from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.site.downloads import download, picture
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.wording import minor_text
from inventory.shelf.acting import act_once, counts_once
from studio.client import fittings
from studio.client.change_orders import agree_change
from studio.client.credits import give_credit, take_credit_back
from studio.client.delivery import deliver as hand_over
from studio.client.delivery import delivery_findings
from studio.client.forms import (
    ChangeForm,
    CreditForm,
    DeliverForm,
    FittingForm,
    HeldForm,
    PaymentForm,
    PhotoForm,
    ReverseForm,
)
from studio.client.page import client_page
from studio.client.payments import reverse_payment, take_payment
from studio.client.personal_data import keep_photo, take_away_photo
from studio.client.receipt import receipt, receipt_pdf
from studio.jobs.finding import did, get_job, maker
from studio.models import Credit, Fitting, Job, JobPhoto, Payment
from studio.money.bills import bill, standing

DAYS = ("day", "held_on", "agreed_on")


def client(request: HttpRequest, pk: int) -> HttpResponse:
    """Fittings, changes, the bill, photographs."""
    job = get_job(pk)
    context = {"job": job, "page": client_page(job, on=timezone.localdate())}
    return render(request, "studio/client/job_client.html", context)


@require_http_methods(["GET", "POST"])
@counts_once
def fitting_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Plan a fitting."""
    job = get_job(pk)
    form = FittingForm(request.POST or None, job=job)
    return _ask(request, job, form, "Plan a fitting", "Plan it", lambda cleaned: fittings.plan_fitting(job, **cleaned))


@require_http_methods(["GET", "POST"])
def fitting_move(request: HttpRequest, pk: int, fitting: int) -> HttpResponse:
    """Put a fitting on another time, or call it off."""
    job, appointment = get_job(pk), _fitting(pk, fitting)
    if "off" in request.POST:
        did(request, lambda: fittings.call_off_fitting(appointment, user=maker(request)))
        return redirect("job-client", pk)
    form = FittingForm(request.POST or None, job=job, fitting=appointment)

    def act(cleaned: Cleaned) -> None:
        fittings.move_fitting(
            appointment, at=cleaned["at"], minutes=cleaned["minutes"], notes=cleaned["notes"], user=maker(request)
        )

    return _ask(request, job, form, f"Move the {_lowered(appointment)}", "Keep it", act, can_call_off=True)


@require_http_methods(["GET", "POST"])
def fitting_held(request: HttpRequest, pk: int, fitting: int) -> HttpResponse:
    """Note what a fitting found."""
    job, appointment = get_job(pk), _fitting(pk, fitting)
    form = HeldForm(request.POST or None, fitting=appointment)

    def act(cleaned: Cleaned) -> None:
        fittings.hold_fitting(
            appointment,
            held_on=cleaned["held_on"],
            notes=cleaned["notes"],
            alterations=cleaned["alterations"],
            signs_toile=cleaned.get("signs_toile", False),
            user=maker(request),
        )

    return _ask(request, job, form, f"What the {_lowered(appointment)} found", "Note it", act)


@require_http_methods(["GET", "POST"])
@counts_once
def change(request: HttpRequest, pk: int) -> HttpResponse:
    """Note a change that the client agreed to."""
    job = get_job(pk)
    form = ChangeForm(request.POST or None, currency=job.currency)

    def act(cleaned: Cleaned) -> None:
        agree_change(
            job,
            what=cleaned["what"],
            net_minor=form.net_minor,
            minutes=cleaned["minutes"],
            agreed_on=cleaned["agreed_on"],
            user=maker(request),
            sure_of=form.sure_of,
        )

    return _ask(request, job, form, "A change agreed", "Add it to the bill", act, fields={"amount": "net"})


@require_http_methods(["GET", "POST"])
@counts_once
def payment(request: HttpRequest, pk: int) -> HttpResponse:
    """Note a payment."""
    job = get_job(pk)
    is_cancelled = job.stage == Job.Stage.CANCELLED
    form = PaymentForm(request.POST or None, currency=job.currency, owed=bill(job), is_cancelled=is_cancelled)

    def act(cleaned: Cleaned) -> None:
        kept = take_payment(
            job,
            what=cleaned["what"],
            amount_minor=cleaned["amount"],
            fee_minor=cleaned["fee"] or 0,
            day=cleaned["day"],
            note=cleaned["note"],
            key=cleaned["key"],
            user=maker(request),
            sure_of=form.sure_of,
        )
        messages.success(request, f"{kept} is noted.")

    instead = None
    if job.stage == Job.Stage.DELIVERED:
        instead = (reverse("credit-new", args=[pk]), "Is the piece to cost less? Note a lower price instead.")
    return _ask(request, job, form, "A payment", "Note the payment", act, instead=instead)


@require_http_methods(["GET", "POST"])
def payment_reverse(request: HttpRequest, number: int) -> HttpResponse:
    """Take a payment back that was entered wrongly."""
    slip = get_object_or_404(Payment, number=number)
    job, form = get_job(slip.job_id), ReverseForm(request.POST or None)

    def act(cleaned: Cleaned) -> None:
        reversal = reverse_payment(slip, why=cleaned["why"], user=maker(request))
        messages.success(request, f"{slip} is reversed by {reversal}.")

    return _ask(request, job, form, f"{slip} was entered wrongly", "Reverse it", act, fields={str(slip): "why"})


@require_http_methods(["GET", "POST"])
@counts_once
def credit(request: HttpRequest, pk: int) -> HttpResponse:
    """Lower the price of a delivered piece."""
    job = get_job(pk)
    with_tax = job.revision.snapshot.rates.tax_included
    form = CreditForm(request.POST or None, currency=job.currency, standing=standing(job), with_tax=with_tax)

    def act(cleaned: Cleaned) -> None:
        give_credit(
            job,
            amount_minor=cleaned["amount"],
            why=cleaned["why"],
            day=cleaned["day"],
            pays_back=cleaned["pays_back"],
            key=cleaned["key"],
            user=maker(request),
            sure_of=form.sure_of,
        )
        messages.success(request, "The lower price is noted, and its tax with it.")

    return _ask(request, job, form, "A lower price", "Lower the price", act)


@require_http_methods(["GET", "POST"])
def credit_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a lower price back that was entered wrongly."""
    slip = get_object_or_404(Credit, pk=pk)
    job, form = get_job(slip.job_id), ReverseForm(request.POST or None)

    def act(cleaned: Cleaned) -> None:
        take_credit_back(slip, why=cleaned["why"], user=maker(request))
        due = standing(job).due_minor
        again = f" {minor_text(due, job.currency.code)} is to be collected." if due else ""
        messages.success(request, f"The lower price is taken back.{again}")

    return _ask(request, job, form, "A lower price was entered wrongly", "Take it back", act)


@require_http_methods(["GET", "POST"])
def photo_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a photograph."""
    job = get_job(pk)
    form = PhotoForm(request.POST or None, request.FILES or None)

    def answer() -> HttpResponse:
        return _ask(
            request, job, form, "A photograph", "Keep it", lambda cleaned: keep_photo(job, **cleaned), takes_file=True
        )

    # Decoding a photograph takes its time, and is done before anybody waits for it.
    return act_once(request, answer) if form.is_valid() else answer()


def photo(request: HttpRequest, pk: int) -> FileResponse:
    """A photograph, while the client's leave stands."""
    job_photo = get_object_or_404(JobPhoto, pk=pk, job__client__may_photograph=True)
    response = picture(job_photo.photo)
    response["Cache-Control"] = "private, no-store"
    return response


@require_POST
def photo_take_away(request: HttpRequest, pk: int) -> HttpResponse:
    """Delete a photograph."""
    job_photo = get_object_or_404(JobPhoto.objects.select_related("job"), pk=pk)
    take_away_photo(job_photo, user=maker(request))
    return redirect("job-client", job_photo.job_id)


def _ask(
    request: HttpRequest,
    job: Job,
    form: Any,
    heading: str,
    verb: str,
    act: Callable[[Cleaned], object],
    *,
    can_call_off: bool = False,
    takes_file: bool = False,
    fields: Mapping[str, str] | None = None,
    instead: tuple[str, str] | None = None,
) -> HttpResponse:
    """Ask for something, do it once, and go back to the client's side of the job."""
    if form.is_valid():
        day = next((name for name in DAYS if name in form.fields), "day")
        with RefusalsOn(form, fields={"amount": "amount", "fee": "fee", "day": day, **(fields or {})}):
            act(form.cleaned_data)
            return redirect("job-client", job.pk)
    context = {
        "job": job,
        "form": form,
        "heading": heading,
        "verb": verb,
        "can_call_off": can_call_off,
        "takes_file": takes_file,
        "instead": instead,
        "back": "job-client",
    }
    return render(request, "studio/bench/job_form.html", context, status=422 if form.errors else 200)


def _fitting(job: int, pk: int) -> Fitting:
    return get_object_or_404(Fitting.objects.select_related("job"), pk=pk, job=job)


def _lowered(fitting: Fitting) -> str:
    words: str = fitting.get_kind_display()
    return words[:1].lower() + words[1:]


@require_http_methods(["GET", "POST"])
@counts_once
def deliver(request: HttpRequest, pk: int) -> HttpResponse:
    """Note what was invoiced and hand the piece over."""
    job = get_job(pk)
    form = DeliverForm(request.POST or None, job=job)
    if form.is_valid():
        with RefusalsOn(form, fields={"day": "on", "discount": "discount"}):
            hand_over(
                job,
                invoice=form.invoice,
                on=form.cleaned_data["on"],
                user=maker(request),
                stays_undone=form.stays_undone,
                sure_of=form.sure_of,
            )
            messages.success(request, "Delivered. What was still kept for it is free again.")
            return redirect("job", pk)
    context = {"job": job, "form": form, "findings": delivery_findings(job) if job.is_open else []}
    return render(request, "studio/client/job_deliver.html", context, status=422 if form.errors else 200)


def payment_receipt(request: HttpRequest, number: int) -> HttpResponse:
    """A payment on paper."""
    payment = get_object_or_404(
        Payment.objects.select_related("job__client", "job__revision__quote", "reverses", "reversed_by"), number=number
    )
    return download(receipt_pdf(receipt(payment)), f"receipt-{number}.pdf")
