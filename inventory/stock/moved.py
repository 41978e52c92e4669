"""What moved of a lot since a form of it was opened: a count that is older than the book is not posted on top of it."""

from django.db.models import Max
from django.utils import timezone

from inventory.ground.findings import Refused, refuse
from inventory.ground.measures import signed_quantity_text
from inventory.models import Lot, Movement

__all__ = ["is_moved", "last_movement", "moved_since", "moved_words", "must_not_have_moved"]

MOVED = "count.moved"


def last_movement(lot: Lot) -> int:
    """Return the number of a lot's last movement, 0 where nothing of it ever moved."""
    return Movement.objects.filter(lot=lot).aggregate(last=Max("pk"))["last"] or 0


def must_not_have_moved(lot: Lot, *, since: int, opened: str = "this form was opened") -> None:
    """Raise Refused where a lot moved after the movement of that number; its item is locked by the caller.

    Args:
        opened: when that movement was the last one, in words.
    """
    if moved := moved_since(lot, since):
        raise refuse(MOVED, f"{lot.item}, {lot}", f"It moved since {opened}, so count it again: {moved}.")


def moved_since(lot: Lot, since: int) -> str:
    """Return what a lot moved after the movement of that number, in words; empty for nothing."""
    # A corrected cost moves nothing.
    movements = Movement.objects.filter(lot=lot, pk__gt=since).exclude(quantity=0)
    movements = movements.select_related("posting", "lot__item__material")
    return ", ".join(moved_words(movement) for movement in movements.order_by("pk"))


def is_moved(refusal: Refused) -> bool:
    """Whether a refusal is one of `must_not_have_moved`."""
    return any(found.code == MOVED for found in refusal.findings)


def moved_words(movement: Movement) -> str:
    """Return a movement in words, such as “issued −2 m at 14:03”; one of another day with its day."""
    done = movement.posting.get_kind_display().lower()
    amount = signed_quantity_text(movement.quantity, movement.lot.item.unit)
    at = timezone.localtime(movement.posting.at)
    day = "" if at.date() == timezone.localdate() else f" on {at.day} {at:%B}"
    return f"{done} {amount}{day} at {at:%H:%M}"
