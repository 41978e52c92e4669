"""The workroom's settings, constructions and standard minutes as the pricing rooms take them."""

import json
from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache

from django.db import transaction
from django.db.models import Sum
from django.utils import timezone

from inventory.ground.codec import Document
from inventory.ground.findings import Finding, Refused, warn
from inventory.ground.money import currency_of
from inventory.shelf.settings import install_shelf
from quotes.construction.construction import Construction
from quotes.construction.construction_json import construction_document, read_construction
from quotes.construction.shipped import shipped, shipped_codes
from quotes.defaults import desk_defaults
from quotes.labour.operations import StandardTimes
from quotes.labour.standard import completed, default_times, read_times, set_by_hand, times_document
from quotes.models import KeptConstruction, Workroom, YearlyCost
from quotes.pricing.rates import overhead_per_hour, productive_hours, read_rates
from quotes.takeoff.losses import Losses, losses_document, read_losses

__all__ = [
    "STARTING_RATES",
    "add_operation",
    "constructions",
    "copy_construction",
    "hours_sold",
    "install_shipped",
    "kept_constructions",
    "losses",
    "overhead_rate",
    "readable",
    "save_construction",
    "save_losses",
    "save_overhead",
    "save_rates",
    "save_times",
    "set_minutes",
    "standard_times",
    "times_of",
    "unreadable",
    "use_overhead_rate",
    "workroom",
    "yearly_total",
]

_ASSUMED = desk_defaults().rates
STARTING_RATES: Document = {
    "labour_per_hour": f"{_ASSUMED.labour_per_hour:f}",
    "overhead_per_hour": f"{_ASSUMED.overhead_per_hour:f}",
    "contingency_share": f"{_ASSUMED.contingency_share:f}",
    "margin_share": f"{_ASSUMED.margin_share:f}",
    "discount_share": "0",
    "rush_share": "0",
    "fee_share": "0",
    "fee_fixed": "0",
    "tax_share": "0",
    "tax_included": True,
    "rounding": "half-up",
    "deposit_shares": [f"{share:f}" for share in _ASSUMED.deposit_shares],
}
"""Where a workroom starts before it says its own, on the first day."""


def workroom() -> Workroom:
    """Return the workroom's settings."""
    return Workroom.objects.select_related("shelf").get(pk=1)


def kept_constructions() -> list[tuple[KeptConstruction, Construction | Refused]]:
    """Return all constructions of the studio, shipped ones first, each as it is read or with what keeps it from being read."""
    return [(kept, _read(kept)) for kept in KeptConstruction.objects.all()]


def readable(kept: Sequence[tuple[KeptConstruction, Construction | Refused]]) -> dict[str, Construction]:
    """Return those of `kept_constructions` that can be read, by code."""
    return {row.code: found for row, found in kept if isinstance(found, Construction)}


def unreadable(kept: Sequence[tuple[KeptConstruction, Construction | Refused]]) -> tuple[Finding, ...]:
    """Return a warning for each of `kept_constructions` that cannot be read."""
    return tuple(
        warn(
            "workroom.construction-unreadable",
            f"{row.title} ({row.code})",
            f"This construction cannot be read, and quotes are made without it: {found}",
            "Copy another one in its place.",
        )
        for row, found in kept
        if isinstance(found, Refused)
    )


def constructions() -> dict[str, Construction]:
    """Return the constructions that quotes are made with, by code, shipped ones first; one that cannot be read is left out."""
    return readable(kept_constructions())


def _read(kept: KeptConstruction) -> Construction | Refused:
    try:
        return _construction(_text(kept.document))
    except Refused as refusal:
        return refusal


def standard_times() -> StandardTimes:
    """Return the studio's table of standard minutes."""
    return _times(_text(workroom().times))


def times_of(room: Workroom) -> StandardTimes:
    """Return the table that a row of settings keeps, in the order in which it is kept, with what has been shipped since."""
    return completed(read_times(room.times))


def losses() -> Losses:
    """Return what the studio uses beyond what is drawn."""
    return read_losses(workroom().losses)


def save_rates(room: Workroom, rates: Document) -> None:
    """Keep rates that new quotes start from. Raises Refused where they cannot work together."""
    read_rates(rates, currency_of(room.currency))
    room.rates = rates
    room.save(update_fields=["rates"])


def yearly_total(room: Workroom) -> Decimal:
    """Return what the year costs whatever is made."""
    total = YearlyCost.objects.aggregate(total=Sum("amount_minor"))["total"] or 0
    return currency_of(room.currency).from_minor(total)


def hours_sold(room: Workroom) -> Decimal:
    """Return the productive hours of a year."""
    return productive_hours(
        weeks=room.productive_weeks,
        hours_per_week=room.hours_per_week,
        productive_share=Decimal(room.productive_percent) / 100,
    )


def overhead_rate() -> Decimal:
    """Return what an hour carries of the yearly costs, by the productive hours of the workroom."""
    room = workroom()
    return overhead_per_hour(
        yearly_total(room),
        weeks=room.productive_weeks,
        hours_per_week=room.hours_per_week,
        productive_share=Decimal(room.productive_percent) / 100,
        currency=currency_of(room.currency),
    )


@transaction.atomic
def save_overhead(*, room: Workroom, costs: list[tuple[str, int]]) -> None:
    """Keep the yearly costs (words, minor units) and the productive hours."""
    room.save()
    YearlyCost.objects.all().delete()
    YearlyCost.objects.bulk_create(YearlyCost(what=what, amount_minor=amount) for what, amount in costs)


def use_overhead_rate() -> None:
    """Put the overhead rate that the yearly costs give into the rates that new quotes start from."""
    room = workroom()
    save_rates(room, {**room.rates, "overhead_per_hour": f"{overhead_rate():f}"})


def save_times(room: Workroom, document: Document) -> None:
    """Keep a table of standard minutes. Raises Refused where it is none."""
    room.times = times_document(read_times(document))
    room.save(update_fields=["times"])


@transaction.atomic
def set_minutes(document: Document) -> None:
    """Keep minutes that the maker set by hand: what was learnt of those that changed counts no more.

    Raises:
        Refused: it is no table of standard minutes.
    """
    room = Workroom.objects.select_for_update().get(pk=1)
    times = set_by_hand(times_of(room), read_times(document), at=timezone.now())
    save_times(room, times_document(times))


def save_losses(room: Workroom, document: Document) -> None:
    """Keep what is used beyond what is drawn. Raises Refused for an unknown figure, or one out of bounds."""
    room.losses = losses_document(read_losses(document))
    room.save(update_fields=["losses"])


def add_operation(room: Workroom, operation: Document) -> None:
    """Add an operation to the table of standard minutes. Raises Refused where its code is taken."""
    table = times_document(times_of(room))
    save_times(room, {**table, "operations": [*table["operations"], operation]})


def save_construction(kept: KeptConstruction, document: Document) -> None:
    """Keep a changed construction. Raises Refused where it is none."""
    construction = read_construction(document)
    kept.title, kept.document = construction.title, construction_document(construction)
    kept.save(update_fields=["title", "document"])


def copy_construction(kept: KeptConstruction, *, title: str, code: str) -> KeptConstruction:
    """Keep a copy that can be changed. Raises Refused where it cannot be read."""
    document = construction_document(read_construction({**kept.document, "code": code, "title": title}))
    return KeptConstruction.objects.create(code=code, title=title, document=document)


def install_shipped() -> None:
    """Bring the shipped constructions up to date and make the row of settings where there is none."""
    for code in shipped_codes():
        construction = shipped(code)
        KeptConstruction.objects.update_or_create(
            code=code,
            defaults={
                "title": construction.title,
                "document": construction_document(construction),
                "is_shipped": True,
            },
        )
    install_shelf()
    Workroom.objects.get_or_create(pk=1, defaults={"rates": STARTING_RATES, "times": times_document(default_times())})


# Every quote reads the same few documents, and checking one against its schema takes milliseconds.


@lru_cache(maxsize=64)
def _construction(text: str) -> Construction:
    return read_construction(json.loads(text))


@lru_cache(maxsize=4)
def _times(text: str) -> StandardTimes:
    return completed(read_times(json.loads(text)))


def _text(document: object) -> str:
    return json.dumps(document, sort_keys=True)
