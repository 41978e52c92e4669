"""A revision's offer in the client's language; what was sealed in an earlier form reads as it did."""

from inventory.ground.pictures import Picture
from inventory.shelf.pictures import kept_pictures
from quotes.documents.earlier_quote import EarlierQuote, earlier_quote, earlier_quote_pdf
from quotes.documents.offer import OfferPaper, offer_paper, offer_pdf, pictures_named
from quotes.languages.catalogue import catalogue
from quotes.seal.snapshot import Snapshot

__all__ = ["client_offer", "client_offer_pdf", "offer_pictures"]


def client_offer(snapshot: Snapshot, *, is_draft: bool) -> OfferPaper | EarlierQuote:
    """Return what the client reads, for the page."""
    if snapshot.offer is None:
        return earlier_quote(snapshot)
    say = catalogue(snapshot.offer.language)
    return offer_paper(snapshot, say, is_draft=is_draft, pictures=offer_pictures(snapshot))


def client_offer_pdf(snapshot: Snapshot, *, is_draft: bool) -> bytes:
    """Return the same as a PDF."""
    if snapshot.offer is None:
        return earlier_quote_pdf(snapshot)
    say = catalogue(snapshot.offer.language)
    return offer_pdf(snapshot, say, is_draft=is_draft, pictures=offer_pictures(snapshot))


def offer_pictures(snapshot: Snapshot) -> dict[str, Picture]:
    """Return the pictures that an offer shows, by their digests, as they were when it was sealed."""
    return kept_pictures(pictures_named(snapshot))
