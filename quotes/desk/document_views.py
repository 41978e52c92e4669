"""Documents of a revision, made from its snapshot alone; of a draft, from the one that sending it today would seal."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from inventory.ground.findings import Refused
from inventory.ground.site.downloads import download
from quotes.desk.client_offer import client_offer, client_offer_pdf
from quotes.desk.finding import get_revision
from quotes.desk.quoting import default_validity, offer_of_today
from quotes.documents.internal_sheet import internal_workbook
from quotes.models import QuoteRevision
from quotes.seal.snapshot import Snapshot


def client_page(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The offer as the client reads it."""
    revision = get_revision(request, pk, number)
    try:
        offer = client_offer(_offered(revision), is_draft=_is_draft(revision))
    except Refused as refusal:
        return _refused(request, refusal, revision)
    return render(request, "quotes/desk/client_page.html", {"offer": offer, "revision": revision})


def client_pdf(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The same as a PDF."""
    revision = get_revision(request, pk, number)
    try:
        pdf = client_offer_pdf(_offered(revision), is_draft=_is_draft(revision))
    except Refused as refusal:
        return _refused(request, refusal, revision)
    return download(pdf, f"quote-{revision.quote.number}-{revision.number}.pdf")


def internal_xlsx(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Every line of every option as a workbook."""
    revision = get_revision(request, pk, number)
    return download(internal_workbook(revision.snapshot), f"sheet-{revision.quote.number}-{revision.number}.xlsx")


def _is_draft(revision: QuoteRevision) -> bool:
    return revision.state == QuoteRevision.State.DRAFT


def _offered(revision: QuoteRevision) -> Snapshot:
    if _is_draft(revision):
        return offer_of_today(revision, valid_until=default_validity())
    return revision.snapshot


def _refused(request: HttpRequest, refusal: Refused, revision: QuoteRevision) -> HttpResponse:
    messages.error(request, str(refusal))
    return redirect("quotes:revision", revision.quote_id, revision.number)
