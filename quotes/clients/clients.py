"""Use cases of clients: measuring, keeping health answers apart, exporting and erasing what is known of a person."""

import logging
from dataclasses import replace
from datetime import date

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.ground.codec import Document
from quotes.clients.signals import client_erased
from quotes.guards import ERASED
from quotes.models import Client, HealthNote, Measure, MeasurementSet, OfferAct, OfferLink, QuoteRevision
from quotes.seal.snapshot import SNAPSHOT

__all__ = ["erase_client", "export_client", "keep_health", "keep_measures"]

logger = logging.getLogger(__name__)


@transaction.atomic
def keep_measures(
    *, client: Client, taken_on: date, unit: str, notes: str, takes_mm: dict[str, list[float]], user: User
) -> MeasurementSet:
    """Keep one day's measures of a client."""
    measured = MeasurementSet.objects.create(client=client, taken_on=taken_on, unit=unit, notes=notes, taken_by=user)
    Measure.objects.bulk_create(
        Measure(measurement_set=measured, code=code, takes_tenths_mm=[round(take * 10) for take in takes])
        for code, takes in takes_mm.items()
    )
    return measured


def keep_health(*, client: Client, answers: str) -> None:
    """Keep a client's health answers, or erase them where they are empty."""
    if answers.strip():
        HealthNote.objects.update_or_create(client=client, defaults={"answers": answers.strip()})
    else:
        HealthNote.objects.filter(client=client).delete()


def export_client(client: Client) -> Document:
    """Return all that is known of a client, for them to take away."""
    note = HealthNote.objects.filter(client=client).first()
    return {
        "name": client.name,
        "email": client.email,
        "phone": client.phone,
        "address": client.address,
        "notes": client.notes,
        "photographs_agreed": client.may_photograph,
        "health": note.answers if note else "",
        "measurements": [
            {
                "taken_on": measured.taken_on.isoformat(),
                "notes": measured.notes,
                "measures_mm": measured.takes_mm,
            }
            for measured in client.measurement_sets.prefetch_related("measures")
        ],
        "quotes": [{"number": quote.number, "title": quote.title} for quote in client.quotes.all()],
        "at_offers": [
            {"did": act.kind, "at": act.at.isoformat(), "name": act.name, "option": act.option, "words": act.words}
            for act in OfferAct.objects.filter(link__revision__quote__client=client)
        ],
    }


@transaction.atomic
def erase_client(client: Client) -> None:
    """Erase a person: all of it where no quote names them, else everything but the name's place in the books."""
    HealthNote.objects.filter(client=client).delete()
    client.measurement_sets.all().delete()
    pk = client.pk
    if client.quotes.exists():
        client.name, client.email, client.phone = f"{ERASED} {client.pk}", "", ""
        client.address, client.notes, client.may_photograph = "", "", False
        client.save()
        _rename_drafts(client)
        _blank_acts(client)
        client_erased.send(sender=Client, client=client)
    else:
        client.delete()
    logger.info("Erased client=%s", pk)


def _blank_acts(client: Client) -> None:
    """Close the private links; of what was done there, leave what was done and when, in no one's name and words."""
    OfferLink.objects.filter(revision__quote__client=client, revoked_at=None).update(revoked_at=timezone.now())
    acts = OfferAct.objects.filter(link__revision__quote__client=client)
    acts.filter(kind=OfferAct.Kind.ASKED).update(name="", words=ERASED, answer="")
    acts.filter(kind=OfferAct.Kind.ACCEPTED).update(name=ERASED, words="")


def _rename_drafts(client: Client) -> None:
    """Address drafts as the desk does now; what was sent is sealed as it was."""
    for draft in QuoteRevision.objects.filter(quote__client=client, state=QuoteRevision.State.DRAFT):
        snapshot = draft.snapshot
        draft.inputs["client"] = client.name
        draft.figures = SNAPSHOT.written(replace(snapshot, letterhead=replace(snapshot.letterhead, client=client.name)))
        draft.schema_version = SNAPSHOT.version
        draft.version += 1
        draft.save(update_fields=["inputs", "figures", "schema_version", "version"])
