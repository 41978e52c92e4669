"""How an act is kept: one posting with its movements, once per key, and the balances brought along."""

import hashlib
import json
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.db.models import F
from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.models import Lot, Movement, Posting, StockItem
from inventory.reckoning.valuation import Method
from inventory.shelf.settings import must_be_open, shelf

__all__ = ["MOST", "Act", "Change", "add_movement", "fingerprint_of", "post"]

MOST = 10**15
"""Larger quantities and values are slips of a unit, and sums of them would not fit the database."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """Who does something at the shelf, why, and on which day (None: today).

    `cause` is the code of what spoiled the material, on scrap that says so.

    `key` is made once per form, so that a double click counts once. Costs are those of the moment at which an act is
    entered, whatever day it is said to have happened on.
    """

    key: UUID
    by: User | None
    why: str = ""
    day: date | None = None
    cause: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """What one lot gains or loses: signed base units and minor units."""

    lot: Lot
    quantity: int
    value: int


def fingerprint_of(kind: Posting.Kind, figures: list[Any], *, job: str = "") -> str:
    """Return what an act says as a fingerprint: a key that comes again with another one is refused."""
    return hashlib.sha256(json.dumps([kind.value, job, figures]).encode()).hexdigest()


def post(
    act: Act,
    kind: Posting.Kind,
    items: set[int],
    figures: list[Any],
    changes: Callable[[Method], Iterable[Change]],
    *,
    job: str = "",
    purpose: str = "",
) -> Posting:
    """Add one posting with its movements, or return the one that the same key has made."""
    fingerprint = fingerprint_of(kind, [*figures, purpose] if purpose else figures, job=job)
    try:
        with transaction.atomic():
            if (posted := _posted(act.key, fingerprint)) is not None:
                return posted
            must_be_open(act.day or timezone.localdate())
            # Locked in one order, so that two acts never wait for each other.
            list(StockItem.objects.select_for_update().filter(pk__in=items).order_by("pk"))
            posting = Posting.objects.create(
                key=act.key,
                fingerprint=fingerprint,
                kind=kind,
                job=job,
                purpose=purpose,
                why=act.why,
                cause=act.cause,
                at=timezone.now(),
                by=act.by,
            )
            for change in changes(Method(shelf().method)):
                add_movement(posting, change, act.day or timezone.localdate())
            return posting
    except IntegrityError:
        # Another process posted the same key while this one waited.
        if (posted := _posted(act.key, fingerprint)) is not None:
            return posted
        raise


def _posted(key: UUID, fingerprint: str) -> Posting | None:
    posted = Posting.objects.filter(key=key).first()
    if posted is not None and posted.fingerprint != fingerprint:
        raise refuse(
            "ledger.key-reused", "form", "This form was sent before with other figures.", "Open it again and repeat."
        )
    return posted


def add_movement(posting: Posting, change: Change, day: date) -> None:
    """Add a movement, and its quantity and value to the balances."""
    if not change.quantity and not change.value:
        raise refuse("ledger.nothing", str(change.lot), "Nothing would be moved.", "Say how much.")
    if max(abs(change.quantity), abs(change.value)) > MOST:
        raise refuse("ledger.too-much", str(change.lot), "That is more than can be kept.", "Check the unit.")
    Movement.objects.create(
        posting=posting,
        item_id=change.lot.item_id,
        lot=change.lot,
        day=day,
        quantity=change.quantity,
        value_minor=change.value,
    )
    Lot.objects.filter(pk=change.lot.pk).update(on_hand=F("on_hand") + change.quantity)
    column = "in_remnants" if change.lot.is_remnant else "on_hand"
    StockItem.objects.filter(pk=change.lot.item_id).update(
        **{column: F(column) + change.quantity, "value_minor": F("value_minor") + change.value}
    )
