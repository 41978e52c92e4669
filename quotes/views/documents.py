"""Documents of a revision, made from its snapshot alone."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from quotes.documents.client_quote import client_quote, client_quote_pdf
from quotes.documents.internal_sheet import internal_workbook
from quotes.views.finding import get_revision

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def client_page(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The quote as the client reads it."""
    found = get_revision(request, pk, number)
    return render(request, "quotes/client_page.html", {"offer": client_quote(found.figures), "revision": found})


def client_pdf(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The same as a PDF."""
    found = get_revision(request, pk, number)
    response = HttpResponse(client_quote_pdf(found.figures), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="quote-{found.quote.number}-{found.number}.pdf"'
    return response


def internal_xlsx(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Every line of every option as a workbook."""
    found = get_revision(request, pk, number)
    response = HttpResponse(internal_workbook(found.figures), content_type=XLSX)
    response["Content-Disposition"] = f'attachment; filename="sheet-{found.quote.number}-{found.number}.xlsx"'
    return response
