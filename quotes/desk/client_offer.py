"""A revision's offer in the client's language; what was sealed in an earlier form reads as it did."""

from quotes.documents.earlier_quote import EarlierQuote, earlier_quote, earlier_quote_pdf
from quotes.documents.offer import OfferPaper, offer_paper, offer_pdf
from quotes.languages.catalogue import catalogue
from quotes.seal.snapshot import Snapshot

__all__ = ["client_offer", "client_offer_pdf"]


def client_offer(snapshot: Snapshot, *, is_draft: bool) -> OfferPaper | EarlierQuote:
    """Return what the client reads, for the page."""
    if snapshot.offer is None:
        return earlier_quote(snapshot)
    return offer_paper(snapshot, catalogue(snapshot.offer.language), is_draft=is_draft)


def client_offer_pdf(snapshot: Snapshot, *, is_draft: bool) -> bytes:
    """Return the same as a PDF."""
    if snapshot.offer is None:
        return earlier_quote_pdf(snapshot)
    return offer_pdf(snapshot, catalogue(snapshot.offer.language), is_draft=is_draft)
