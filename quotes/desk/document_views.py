"""Documents of a revision, made from its snapshot alone."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.ground.site.downloads import download
from quotes.desk.finding import get_revision
from quotes.documents.client_quote import client_quote, client_quote_pdf
from quotes.documents.internal_sheet import internal_workbook


def client_page(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The quote as the client reads it."""
    revision = get_revision(request, pk, number)
    return render(
        request, "quotes/desk/client_page.html", {"offer": client_quote(revision.snapshot), "revision": revision}
    )


def client_pdf(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The same as a PDF."""
    revision = get_revision(request, pk, number)
    return download(client_quote_pdf(revision.snapshot), f"quote-{revision.quote.number}-{revision.number}.pdf")


def internal_xlsx(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Every line of every option as a workbook."""
    revision = get_revision(request, pk, number)
    return download(internal_workbook(revision.snapshot), f"sheet-{revision.quote.number}-{revision.number}.xlsx")
