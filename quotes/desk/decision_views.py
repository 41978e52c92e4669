"""Sending a quote and what becomes of it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.findings import Refused
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.maker import maker
from inventory.shelf.acting import act_once, counts_once
from quotes.desk import quoting
from quotes.desk.client_offer import client_offer
from quotes.desk.finding import as_opened, get_revision
from quotes.desk.quote_forms import AcceptForm, SendForm
from quotes.models import QuoteRevision
from quotes.seal.snapshot import offer_fingerprint


@require_http_methods(["GET", "POST"])
@counts_once
def send(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Seal a draft. Asks first: a sent revision does not change any more; one that was sent shows itself and says so."""
    revision = get_revision(request, pk, number)
    if revision.state != QuoteRevision.State.DRAFT:
        messages.warning(request, "This revision was sent before and does not change any more.")
        return redirect("quotes:revision", pk, number)
    revision = as_opened(request, revision)
    valid_until = quoting.default_validity()
    form = SendForm(request.POST or None, initial={"valid_until": valid_until})
    if form.is_valid():
        with RefusalsOn(form, fields={"valid until": "valid_until", "promised": "promised"}):
            quoting.send(revision=revision, sure_of=form.sure_of, user=maker(request), **form.cleaned_data)
            messages.success(request, "Sealed as sent. Hand the PDF to your client.")
            return redirect("quotes:revision", pk, number)
    try:
        offer = quoting.offer_of_today(revision, valid_until=valid_until)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("quotes:revision", pk, number)
    seen = offer_fingerprint(offer)
    context = {
        "form": form,
        "revision": revision,
        "offer": client_offer(offer, is_draft=True),
        "due": revision.quote.due,
        "seen": seen,
        "has_moved": offer.quotation != revision.snapshot.quotation,
    }
    return render(request, "quotes/desk/send.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@counts_once
def accept(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Note which option the client chose."""
    revision = get_revision(request, pk, number)
    names = [option.name for option in revision.snapshot.quotation.options]
    form = AcceptForm(request.POST or None, names=names)
    if form.is_valid():
        with RefusalsOn(form):
            quoting.accept(revision=revision, option=form.cleaned_data["option"], user=maker(request))
            return redirect("quotes:revision", pk, number)
    return render(
        request, "quotes/desk/accept.html", {"form": form, "revision": revision}, status=422 if form.errors else 200
    )


@require_POST
def decline(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Note that the client said no."""
    revision = get_revision(request, pk, number)
    try:
        quoting.decline(revision=revision, user=maker(request))
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("quotes:revision", pk, number)


@require_POST
def revise(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Open the next draft."""
    revision = get_revision(request, pk, number)

    def act() -> HttpResponse:
        return redirect("quotes:revision", pk, quoting.revise(revision=revision, user=maker(request)).number)

    try:
        return act_once(request, act)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("quotes:revision", pk, number)
