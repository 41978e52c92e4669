"""Quotes that tests in a browser begin with."""

from datetime import timedelta

from django.contrib.auth.models import User
from django.utils import timezone

from quotes.desk.quoting import offer_of_today, send, start_quote
from quotes.models import Client, PatternRevision, QuoteRevision
from quotes.seal.snapshot import offer_fingerprint

__all__ = ["sent_to"]

GREEN = {
    "name": "Zwei Lagen",
    "construction": "two-layer",
    "cloths": {"outer": "coutil-satin-bottle", "inner": "coutil-white"},
    "choices": {},
}
BLACK = {
    "name": "Eine Lage",
    "construction": "single-layer",
    "cloths": {"outer": "coutil-black"},
    "choices": {"front": "zip"},
}


def sent_to(client: Client, pattern: PatternRevision, user: User) -> QuoteRevision:
    """A quote of two options, sent to a client just now."""
    draft = start_quote(
        client=client, title="Unterbrustkorsett", due=None, pattern=pattern, options=[GREEN, BLACK], user=user
    )
    seen = offer_fingerprint(offer_of_today(draft))
    return send(revision=draft, valid_until=timezone.localdate() + timedelta(days=9), seen=seen, user=user)
