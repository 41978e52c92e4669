"""When the materials that a piece lacks are there, for a job by what is kept for it, for a quote by what it asks for."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from inventory.models import Reservation, StockItem
from inventory.services.availability import lacks
from inventory.services.reservations import Wish
from quotes.documents.material_needs import material_needs
from quotes.models import QuoteRevision
from quotes.services.keeping import needed_by, ready_quantity, reference_of
from quotes.services.workroom import workroom
from studio.models import Job

__all__ = ["Materials", "materials_for", "materials_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Materials:
    """When all that a piece lacks is there: None where nothing is waited for; `missing` is brought by nothing yet."""

    there_on: date | None = None
    missing: tuple[str, ...] = ()


def materials_of(job: Job, on: date) -> Materials:
    """Return what a job waits for, by what is still kept for it."""
    kept = Reservation.objects.filter(reference=job.reference, state=Reservation.State.OPEN).first()
    if kept is None:
        return Materials()
    wishes = [
        Wish(item=line.item, quantity=line.remaining, operation=line.operation)
        for line in kept.lines.select_related("item__material")
        if line.remaining
    ]
    return _materials(wishes, reference=job.reference, start=max(on, kept.needed_by), on=on)


def materials_for(revision: QuoteRevision, option: Mapping[str, Any], on: date) -> Materials:
    """Return what an option of a quote would wait for."""
    start = needed_by(revision.quote, workroom(), on=on)
    return _materials(_wishes(option), reference=reference_of(revision.quote), start=start, on=on)


def _wishes(option: Mapping[str, Any]) -> list[Wish]:
    """What an option asks of the shelf, of items that are kept there; nothing is made or reserved."""
    needs = material_needs(option)
    rows = StockItem.objects.filter(material__code__in={need.material for need in needs}).select_related("material")
    items = {(row.material.code, row.size_tenths_mm): row for row in rows}
    asked = [(items.get((need.material, need.size_tenths_mm)), need) for need in needs]
    return [
        Wish(item=item, quantity=ready_quantity(need.quantity, item.material), operation=need.operation)
        for item, need in asked
        if item is not None
    ]


def _materials(wishes: Sequence[Wish], *, reference: str, start: date, on: date) -> Materials:
    """Looked up today, for what still has to come, and on the day of need, when earlier work may have taken it."""
    found = [lack for day in sorted({on, start}) for lack in lacks(wishes, start=day, reference=reference, on=on)]
    return Materials(
        there_on=max((lack.there_on for lack in found if lack.there_on), default=None),
        missing=tuple(dict.fromkeys(str(lack.wish.item) for lack in found if lack.there_on is None)),
    )
