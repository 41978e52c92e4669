"""The papers of a lay that is kept: what the cutter works from."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from inventory.ground.findings import Refused
from inventory.ground.site.downloads import download
from quotes.desk.finding import get_revision
from quotes.desk.kept_lay_papers import lay_paper
from quotes.desk.lay_papers import PAPERS


def paper(request: HttpRequest, pk: int, number: int, index: int, cloth: str, kind: str) -> HttpResponse:
    """The cutting sheet with full-size tiles, the plotter file or the drawing of one cloth of an option."""
    revision = get_revision(request, pk, number)
    if kind not in PAPERS or index >= len(revision.snapshot.quotation.options):
        raise Http404("There is no such paper.")
    try:
        data = lay_paper(revision, index, cloth, kind)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("quotes:sheet", pk, number, index)
    if data is None:
        messages.error(request, "This lay is not kept as it was quoted. Revise the quote, and draw it there.")
        return redirect("quotes:sheet", pk, number, index)
    return download(data, f"lay-{revision.quote.number}-{revision.number}-{cloth}.{kind}")
