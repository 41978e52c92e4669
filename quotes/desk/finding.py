"""Finding what a path names, with the right to do what is asked of it."""

from django.http import Http404, HttpRequest
from django.shortcuts import get_object_or_404

from quotes.models import QuoteRevision

__all__ = ["get_draft", "get_revision"]


def get_revision(request: HttpRequest, pk: int, number: int) -> QuoteRevision:
    """Return a revision with its quote, client and pattern, or 404. Any member of the workroom may read it."""
    revisions = QuoteRevision.objects.select_related("quote__client", "pattern__pattern")
    return get_object_or_404(revisions, quote_id=pk, number=number)


def get_draft(request: HttpRequest, pk: int, number: int) -> QuoteRevision:
    """Return a revision that may be changed; 404 for one that was sent.

    It carries the version that the form was opened with, so that a change made in another window meanwhile is noticed.
    """
    revision = get_revision(request, pk, number)
    if revision.state != QuoteRevision.State.DRAFT:
        raise Http404("This revision was sent and does not change any more.")
    opened = request.POST.get("version", "")
    if opened.isdecimal():
        revision.version = int(opened)
    return revision
