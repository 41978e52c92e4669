"""Finding what a path names, with the right to do what is asked of it."""

from django.http import Http404, HttpRequest
from django.shortcuts import get_object_or_404

from quotes.models import QuoteRevision

__all__ = ["as_opened", "get_draft", "get_revision"]


def get_revision(request: HttpRequest, pk: int, number: int) -> QuoteRevision:
    """Return a revision with its quote, client and pattern, or 404. Any member of the workroom may read it."""
    revisions = QuoteRevision.objects.select_related("quote__client", "pattern__pattern")
    return get_object_or_404(revisions, quote_id=pk, number=number)


def get_draft(request: HttpRequest, pk: int, number: int) -> QuoteRevision:
    """Return a revision that may be changed, as its form was opened; 404 for one that was sent."""
    revision = get_revision(request, pk, number)
    if revision.state != QuoteRevision.State.DRAFT:
        raise Http404("This revision was sent and does not change any more.")
    return as_opened(request, revision)


def as_opened(request: HttpRequest, revision: QuoteRevision) -> QuoteRevision:
    """Return the revision with the version that the form was opened with: a change in another window is noticed by it."""
    opened = request.POST.get("version", "")
    if opened.isdecimal():
        revision.version = int(opened)
    return revision
