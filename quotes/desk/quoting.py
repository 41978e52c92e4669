"""Use cases of quotes: start, change, send, decide, revise.

Every change works out the figures first and then saves inputs and figures in one short transaction, so that what a
page shows was computed once, and a refused change leaves nothing behind.
"""

import logging
from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from uuid import UUID, uuid4

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from inventory.ground.codec import Document
from inventory.ground.findings import Finding, doubt, must_be_sure, refuse
from inventory.ground.money import currency_of
from inventory.ground.wording import day_text
from quotes.desk.figures import work_out
from quotes.models import Client, PatternRevision, Quote, QuoteRevision, Workroom
from quotes.needs.reserving import keep_firmly, keep_softly, let_go
from quotes.patterns.kept_patterns import save_pattern
from quotes.seal.snapshot import SNAPSHOT, Snapshot, fingerprint, offer_fingerprint
from quotes.workroom.settings import workroom

__all__ = [
    "accept",
    "change_draft",
    "columns_of",
    "decline",
    "default_validity",
    "newer_pattern",
    "offer_of_today",
    "revise",
    "send",
    "start_quote",
    "take_newer_pattern",
]

logger = logging.getLogger(__name__)

Inputs = Document
State = QuoteRevision.State


def start_quote(
    *,
    client: Client,
    title: str,
    due: date | None,
    pattern: PatternRevision,
    options: Sequence[Document],
    user: User,
    key: UUID | None = None,
) -> QuoteRevision:
    """Open a quote with its first draft; a new client and a new pattern are saved with it.

    Args:
        key: of the form that starts it. A key that was used before answers with the draft that it started.

    Raises:
        Refused: the options cannot be worked out, or another pattern has the new one's name; then nothing is saved.
    """
    key = key or uuid4()
    started = QuoteRevision.objects.filter(quote__key=key, number=1).first()
    if started is not None:
        return started
    room = workroom()
    inputs: Inputs = {
        "title": title,
        "client": client.name,
        "currency": room.currency,
        "units": "mm",
        "options": options,
        "extras": [],
        "rates": room.rates,
        **({"due": due.isoformat()} if due else {}),
    }
    figures = columns_of(work_out(inputs, pattern, language=client.language))
    with transaction.atomic():
        # Quotes are numbered one after another, however many are started at once.
        Workroom.objects.select_for_update().get(pk=room.pk)
        started = QuoteRevision.objects.filter(quote__key=key, number=1).first()
        if started is not None:
            return started
        if client.pk is None:
            client.save()
        if pattern.pk is None:
            pattern = save_pattern(pattern)
        number = (Quote.objects.aggregate(last=Max("number"))["last"] or 0) + 1
        quote = Quote.objects.create(number=number, key=key, client=client, title=title, due=due)
        revision = QuoteRevision.objects.create(
            quote=quote,
            number=1,
            pattern=pattern,
            inputs=inputs,
            changed_by=user,
            **figures,
        )
    logger.info("Started quote=%s", number)
    return revision


def change_draft(
    *,
    revision: QuoteRevision,
    change: Callable[[Inputs], Inputs] = dict,
    pattern: PatternRevision | None = None,
    user: User,
) -> QuoteRevision:
    """Put `change(inputs)` in place of a draft's inputs, or another pattern in place of its own, with what they come to.

    Raises:
        Refused: the revision is no draft any more, changed in the meantime, or cannot be worked out.
    """
    _must_be(revision, State.DRAFT)
    inputs, pattern = change({**revision.inputs}), pattern or revision.pattern
    figures = columns_of(work_out(inputs, pattern, language=revision.quote.client.language))
    changed = QuoteRevision.objects.filter(pk=revision.pk, version=revision.version, state=State.DRAFT).update(
        inputs=inputs,
        pattern=pattern,
        version=revision.version + 1,
        changed_by=user,
        **figures,
    )
    if not changed:
        raise refuse(
            "quote.changed-meanwhile",
            str(revision),
            "The quote was changed in another window since this page was opened.",
            "Open it again and repeat your change.",
        )
    revision.refresh_from_db()
    return revision


def newer_pattern(revision: QuoteRevision) -> PatternRevision | None:
    """Return the newest revision of a draft's pattern; None where the draft is made from it, or is none any more."""
    if revision.state != State.DRAFT:
        return None
    return revision.pattern.pattern.revisions.filter(number__gt=revision.pattern.number).order_by("-number").first()


def take_newer_pattern(revision: QuoteRevision, *, user: User) -> QuoteRevision:
    """Make a draft from the newest revision of its pattern; one that is made from it stays as it is. Raises as `change_draft`."""
    newest = newer_pattern(revision)
    return revision if newest is None else change_draft(revision=revision, pattern=newest, user=user)


def offer_of_today(
    revision: QuoteRevision, *, valid_until: date | None = None, promised: date | None = None
) -> Snapshot:
    """Return the snapshot that sending a draft today would seal. Raises Refused where it cannot be worked out."""
    today = timezone.localdate()
    return work_out(
        revision.inputs,
        revision.pattern,
        revision=revision,
        quoted_on=today,
        valid_until=valid_until,
        promised=promised,
        language=revision.quote.client.language,
    )


def send(
    *,
    revision: QuoteRevision,
    valid_until: date,
    seen: str,
    user: User,
    promised: date | None = None,
    sure_of: str | None = None,
) -> QuoteRevision:
    """Seal a draft at today's prices, minutes and lays, and count it as sent today.

    Args:
        seen: fingerprint of the offer that the maker was shown before sending.
        promised: the day that the maker promises; what the client wishes is a note inside and promises nothing.

    Raises:
        Refused: no draft any more, a day in the past, figures that cannot be worked out or other ones than seen; asked
            by `sure_of`: a promise that is later than the client's wish.
    """
    _must_be(revision, State.DRAFT)
    today = timezone.localdate()
    if valid_until < today:
        raise refuse(
            "quote.validity-past", "valid until", f"{day_text(valid_until)} has passed.", "Choose today or a later day."
        )
    if promised is not None and promised < today:
        raise refuse(
            "quote.promise-past", "promised", f"{day_text(promised)} has passed.", "Promise a later day, or none."
        )
    must_be_sure(list(_later_than_wished(revision.quote, promised)), sure_of)
    offer = offer_of_today(revision, valid_until=valid_until, promised=promised)
    if offer_fingerprint(offer) != seen:
        raise refuse(
            "quote.figures-moved",
            "prices",
            "Prices, minutes or lays have changed since this page was opened.",
            "Look at the offer below, which is made with them, and send it again.",
        )
    figures = columns_of(offer)
    with transaction.atomic():
        # An older revision that the client still holds is replaced by this one.
        QuoteRevision.objects.filter(quote=revision.quote, state=State.SENT).update(state=State.REPLACED)
        sealed = QuoteRevision.objects.filter(pk=revision.pk, version=revision.version, state=State.DRAFT).update(
            state=State.SENT,
            fingerprint=fingerprint(figures["figures"]),
            sent_at=timezone.now(),
            valid_until=valid_until,
            promised=promised,
            version=revision.version + 1,
            changed_by=user,
            **figures,
        )
        if not sealed:
            raise refuse(
                "quote.changed-meanwhile",
                str(revision),
                "The quote was changed while it was being sent.",
                "Look at it again.",
            )
        revision.refresh_from_db()
        keep_softly(revision, workroom(), on=today)
    logger.info("Sent quote=%s revision=%s", revision.quote.number, revision.number)
    return revision


def accept(*, revision: QuoteRevision, option: str, user: User | None) -> QuoteRevision:
    """Note that the client chose `option`; `user` is None where the client did it.

    Raises:
        Refused: an expired quote, or an option that it lacks.
    """
    _must_be(revision, State.SENT)
    offered = [offer.name for offer in revision.snapshot.quotation.options]
    if option not in offered:
        raise refuse(
            "quote.no-such-option", "option", f"This quote offers no “{option}”.", f"It offers {', '.join(offered)}."
        )
    return _decide(revision, State.ACCEPTED, user, accepted_option=option)


def decline(*, revision: QuoteRevision, user: User) -> QuoteRevision:
    """Note that the client said no."""
    _must_be(revision, State.SENT, State.EXPIRED)
    return _decide(revision, State.DECLINED, user)


def revise(*, revision: QuoteRevision, user: User) -> QuoteRevision:
    """Open the next draft of a quote from any of its revisions, at today's prices and minutes.

    Raises:
        Refused: the quote has a draft, was accepted, or cannot be worked out.
    """
    _must_take_a_draft(revision.quote)
    figures = columns_of(work_out(revision.inputs, revision.pattern, language=revision.quote.client.language))
    with transaction.atomic():
        # Locked, so that of two at once the second finds the draft of the first.
        _must_take_a_draft(Quote.objects.select_for_update().get(pk=revision.quote_id))
        last = revision.quote.revisions.aggregate(last=Max("number"))["last"]
        return QuoteRevision.objects.create(
            quote=revision.quote,
            number=last + 1,
            pattern=revision.pattern,
            inputs=revision.inputs,
            changed_by=user,
            **figures,
        )


def columns_of(snapshot: Snapshot) -> Document:
    """What a revision keeps of a snapshot: its document, and the price that the books sum."""
    money = currency_of(snapshot.quotation.currency)
    return {
        "figures": SNAPSHOT.written(snapshot),
        "schema_version": SNAPSHOT.version,
        "currency": money.code,
        "price_minor": money.to_minor(snapshot.quotation.options[0].gross),
    }


def default_validity() -> date:
    """The day until which a quote sent today holds, by the workroom's habit."""
    return timezone.localdate() + timedelta(days=workroom().quote_valid_days)


def _decide(
    revision: QuoteRevision, state: QuoteRevision.State, user: User | None, *, accepted_option: str = ""
) -> QuoteRevision:
    chosen = {}
    if accepted_option:
        price = revision.snapshot.quotation.option(accepted_option).gross
        chosen = {"accepted_option": accepted_option, "price_minor": currency_of(revision.currency).to_minor(price)}
    with transaction.atomic():
        decided = QuoteRevision.objects.filter(pk=revision.pk, state=State.SENT).update(
            state=state, decided_at=timezone.now(), changed_by=user, **chosen
        )
        if not decided:
            raise refuse(
                "quote.changed-meanwhile",
                str(revision),
                "The quote was decided in another window.",
                "Look at it again.",
            )
        revision.refresh_from_db()
        if state is State.ACCEPTED:
            keep_firmly(revision, workroom(), on=timezone.localdate())
        else:
            let_go(revision.quote, why="The quote was declined.")
    logger.info("Decided quote=%s state=%s", revision.quote.number, state)
    return revision


def _later_than_wished(quote: Quote, promised: date | None) -> Iterator[Finding]:
    if promised is not None and quote.due is not None and promised > quote.due:
        yield doubt(
            "quote.promise-later-than-wished",
            "promised",
            f"The client wishes it by {day_text(quote.due)}, and {day_text(promised)} is promised.",
        )


def _must_take_a_draft(quote: Quote) -> None:
    if quote.revisions.filter(state=State.DRAFT).exists():
        raise refuse("quote.has-draft", str(quote), "This quote has a draft already.", "Change that one.")
    if quote.revisions.filter(state=State.ACCEPTED).exists():
        raise refuse("quote.is-accepted", str(quote), "This quote was accepted.", "Start a new quote instead.")


def _must_be(revision: QuoteRevision, *states: QuoteRevision.State) -> None:
    standing = revision.standing(on=timezone.localdate())
    if standing not in states:
        raise refuse(
            "quote.wrong-state",
            str(revision),
            f"This revision is {standing.label.lower()}; that can only be done while it is "
            f"{' or '.join(state.label.lower() for state in states)}.",
            "Revise the quote to change it.",
        )
