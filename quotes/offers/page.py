"""How an offer stands with its client, from the revision and what was done at its links."""

from django.utils import timezone

from quotes.documents.offer_page import OfferPageWords, OfferStanding, offer_page_words
from quotes.languages.catalogue import Catalogue
from quotes.models import OfferAct, OfferLink, QuoteRevision

__all__ = ["page_words"]


def page_words(link: OfferLink, say: Catalogue) -> OfferPageWords:
    """Return the words of the client's page at a link; questions are those that were asked at this link."""
    revision, today = link.revision, timezone.localdate()
    state = revision.standing(on=today)
    is_accepted = state is QuoteRevision.State.ACCEPTED
    decided = timezone.localtime(revision.decided_at).date() if revision.decided_at else None
    currency = revision.snapshot.quotation.currency
    standing = OfferStanding(
        accepted=revision.accepted_option,
        accepted_on=decided,
        deposit=say.money(revision.accepted.deposit[0], currency) if is_accepted else "",
        is_open=state is QuoteRevision.State.SENT,
        valid_until=revision.valid_until,
        is_replaced=state is QuoteRevision.State.REPLACED,
    )
    asked = [
        (timezone.localtime(act.at).date(), act.words, act.answer) for act in link.acts.filter(kind=OfferAct.Kind.ASKED)
    ]
    return offer_page_words(standing, asked, say, today=today)
