"""Use cases of private links: made and revoked by the maker; read, asked at and accepted at by the client."""

import secrets
from datetime import datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.core.signing import BadSignature, Signer
from django.db import transaction
from django.utils import timezone

from inventory.ground.findings import refuse
from quotes.desk.quoting import accept
from quotes.models import OfferAct, OfferLink, QuoteRevision

__all__ = ["accept_at", "answer", "ask_at", "link_of", "make_link", "revoke_link", "token_of"]

_SIGNER = Signer(salt="quotes.offers")


def make_link(revision: QuoteRevision, *, expires_at: datetime, user: User) -> OfferLink:
    """Make a link to a sealed offer.

    Raises:
        Refused: a draft; an offer sealed before offers could be read at a link; a moment that has passed.
    """
    if revision.state == QuoteRevision.State.DRAFT:
        raise refuse("offer.draft", str(revision), "A draft has no link.", "Send it first.")
    if revision.snapshot.offer is None:
        raise refuse(
            "offer.earlier-form", str(revision), "This offer was sealed before links were made.", "Revise and send it."
        )
    if expires_at <= timezone.now():
        raise refuse("offer.expiry-past", "expires", "That day has passed.", "Choose today or a later day.")
    return OfferLink.objects.create(
        revision=revision,
        nonce=secrets.token_urlsafe(32),
        expires_at=expires_at,
        made_at=timezone.now(),
        made_by=user,
    )


def revoke_link(link: OfferLink) -> None:
    """Let a link lead nowhere from now on."""
    OfferLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=timezone.now())


def token_of(link: OfferLink) -> str:
    """Return what the link's address carries: its nonce, signed with the key of this installation."""
    return _SIGNER.sign(link.nonce)


def link_of(token: str) -> OfferLink | None:
    """Return the link of a token; None alike for one that is forged, guessed, expired or revoked."""
    try:
        nonce = _SIGNER.unsign(token)
    except BadSignature:
        return None
    links = OfferLink.objects.select_related("revision__quote__client")
    return links.filter(nonce=nonce, revoked_at=None, expires_at__gt=timezone.now()).first()


def ask_at(link: OfferLink, *, words: str, key: UUID) -> None:
    """Keep a client's question; the same key counts once."""
    OfferAct.objects.get_or_create(
        key=key, defaults={"link": link, "kind": OfferAct.Kind.ASKED, "words": words, "at": timezone.now()}
    )


def accept_at(link: OfferLink, *, option: str, name: str, key: UUID) -> None:
    """Accept an option in the client's name; the same key counts once.

    Raises:
        Refused: the offer does not stand any more, or lacks the option; then nothing is kept.
    """
    with transaction.atomic():
        revision = QuoteRevision.objects.select_for_update().get(pk=link.revision_id)
        if OfferAct.objects.filter(key=key).exists():
            return
        accept(revision=revision, option=option, user=None)
        OfferAct.objects.create(
            link=link, kind=OfferAct.Kind.ACCEPTED, name=name, option=option, at=timezone.now(), key=key
        )


def answer(act: OfferAct, *, words: str) -> None:
    """Keep the maker's answer to a question, for the client to read at the link."""
    OfferAct.objects.filter(pk=act.pk).update(answer=words, answered_at=timezone.now())
