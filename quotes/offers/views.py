"""Private links: the maker's page of them, and the client's page that one leads to."""

from contextlib import suppress
from datetime import datetime, time, timedelta

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.findings import Refused
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.maker import maker
from inventory.shelf.acting import counts_once
from quotes.defaults import desk_defaults
from quotes.desk.client_offer import offer_pictures
from quotes.desk.finding import get_revision
from quotes.documents.offer import differences, offer_paper
from quotes.languages.catalogue import catalogue
from quotes.models import OfferAct, OfferLink
from quotes.offers import links as service
from quotes.offers.forms import AcceptAtForm, AnswerForm, AskForm, LinkForm
from quotes.offers.page import page_words


@require_http_methods(["GET", "POST"])
@counts_once
def links(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The links of a revision, what the client did there, and a new one."""
    revision = get_revision(request, pk, number)
    usual = timezone.localdate() + timedelta(days=desk_defaults().quote.link_days)
    form = LinkForm(request.POST or None, initial={"expires": usual})
    if form.is_valid():
        end = timezone.make_aware(datetime.combine(form.cleaned_data["expires"], time.max))
        with RefusalsOn(form, fields={"expires": "expires"}):
            service.make_link(revision, expires_at=end, user=maker(request))
            return redirect("quotes:offer-links", pk, number)
    now = timezone.now()
    rows = [
        (
            link,
            request.build_absolute_uri(reverse("quotes:private-offer", args=[service.token_of(link)])),
            link.revoked_at is None and link.expires_at > now,
        )
        for link in revision.offer_links.all()
    ]
    acts = OfferAct.objects.filter(link__revision=revision)
    context = {"form": form, "revision": revision, "links": rows, "acts": acts}
    return render(request, "quotes/offers/links.html", context, status=422 if form.errors else 200)


@require_POST
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """Revoke a link."""
    link = get_object_or_404(OfferLink.objects.select_related("revision"), pk=pk)
    service.revoke_link(link)
    messages.success(request, "The link leads nowhere any more.")
    return redirect("quotes:offer-links", link.revision.quote_id, link.revision.number)


@require_POST
def answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Answer a client's question."""
    act = get_object_or_404(OfferAct.objects.select_related("link__revision"), pk=pk, kind=OfferAct.Kind.ASKED)
    form = AnswerForm(request.POST)
    if form.is_valid():
        service.answer(act, words=form.cleaned_data["words"])
    else:
        messages.error(request, "Write an answer of up to 2,000 characters.")
    return redirect("quotes:offer-links", act.link.revision.quote_id, act.link.revision.number)


@login_not_required
@require_http_methods(["GET", "POST"])
def offer(request: HttpRequest, token: str) -> HttpResponse:
    """The offer as its client reads it, asks about it and accepts it; one answer to every link that leads nowhere."""
    link = service.link_of(token)
    if link is None or link.revision.snapshot.offer is None:
        return _private(render(request, "quotes/offers/nowhere.html", status=404))
    revision = link.revision
    snapshot, say = revision.snapshot, catalogue(link.revision.snapshot.offer.language)
    words = page_words(link, say)
    paper = offer_paper(snapshot, say, is_draft=False, pictures=offer_pictures(snapshot))
    names = [option.name for option in snapshot.quotation.options]
    asks, accepts = "ask-key" in request.POST, "accept-key" in request.POST
    ask_form = AskForm(request.POST if asks else None, say=words)
    accept_form = AcceptAtForm(request.POST if accepts else None, names=names, say=words)
    if asks and ask_form.is_valid():
        service.ask_at(link, words=ask_form.cleaned_data["words"], key=ask_form.cleaned_data["key"])
        return _private(redirect("quotes:private-offer", token))
    if accepts and accept_form.is_valid():
        # What was decided or replaced meanwhile is refused: the page, made anew, says how it stands.
        with suppress(Refused):
            service.accept_at(link, **accept_form.cleaned_data)
        return _private(redirect("quotes:private-offer", token))
    context = {
        "offer": paper,
        "say": words,
        "ask_form": ask_form,
        "accept_form": accept_form,
        "differences": differences(paper),
        "is_open": not words.standing,
    }
    bad = ask_form.errors or accept_form.errors
    return _private(render(request, "quotes/offers/offer.html", context, status=422 if bad else 200))


def _private(response: HttpResponse) -> HttpResponse:
    """For one reader: kept nowhere, listed nowhere."""
    response["Cache-Control"] = "private, no-store"
    response["X-Robots-Tag"] = "noindex, nofollow, noarchive"
    return response
