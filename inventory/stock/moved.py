"""What moved of a lot since a form of it was opened: a count that is older than the book is not posted on top of it."""

from django.db.models import Max
from django.utils import timezone

from inventory.ground.findings import Refused, refuse
from inventory.ground.measures import signed_quantity_text
from inventory.models import Lot, Movement

__all__ = ["is_moved", "last_movement", "moved_words", "must_not_have_moved"]

MOVED = "count.moved"


def last_movement(lot: Lot) -> int:
    """Return the number of a lot's last movement, 0 where nothing of it ever moved."""
    return Movement.objects.filter(lot=lot).aggregate(last=Max("pk"))["last"] or 0


def must_not_have_moved(lot: Lot, *, since: int) -> None:
    """Raise Refused where a lot moved after the movement of that number; its item is locked by the caller."""
    movements = Movement.objects.filter(lot=lot, pk__gt=since).select_related("posting", "lot__item").order_by("pk")
    if moved := list(movements):
        raise refuse(
            MOVED,
            f"{lot.item}, {lot}",
            "It moved since this form was opened, so count it again: "
            f"{', '.join(moved_words(movement) for movement in moved)}.",
        )


def is_moved(refusal: Refused) -> bool:
    """Whether a refusal is one of `must_not_have_moved`."""
    return any(found.code == MOVED for found in refusal.findings)


def moved_words(movement: Movement) -> str:
    """Return a movement in words, such as “issued −2 m at 14:03”."""
    done = movement.posting.get_kind_display().lower()
    amount = signed_quantity_text(movement.quantity, movement.lot.item.unit)
    return f"{done} {amount} at {timezone.localtime(movement.posting.at):%H:%M}"
