"""What of each lot other accepted work leaves free."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import F, Sum

from inventory.models import Lot
from inventory.reserving.reservations import firm_lines

__all__ = ["FreeLot", "free_lots"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeLot:
    """A lot, and how many base units of it may be taken."""

    lot: Lot
    free: int


def free_lots(items: Collection[int], *, beside: Collection[str]) -> list[FreeLot]:
    """Return the ready lots of full width with what is free of each, in the order in which they are taken, in two queries.

    What is kept from a lot stays in it. What is kept of an item without a lot stays in those that are taken last, so that
    what this says of all lots may be taken together.

    Args:
        beside: references of the work that asks; what is kept for it does not stand against it.
    """
    lots: dict[int, list[Lot]] = defaultdict(list)
    whole = Lot.objects.filter(item__in=items, on_hand__gt=0, remnant_width_mm__isnull=True, state=Lot.State.READY)
    for lot in whole.select_related("item__material"):
        lots[lot.item_id].append(lot)
    kept: dict[int, dict[int | None, int]] = defaultdict(dict)
    others = firm_lines().filter(item__in=items).exclude(reservation__reference__in=beside)
    for item, bound, left in (
        others.values_list("item", "lot").annotate(left=Sum(F("quantity") - F("issued"))).order_by()
    ):
        kept[item][bound] = left
    return [row for item, of in lots.items() for row in _free(of, kept[item])]


def _free(lots: list[Lot], kept: dict[int | None, int]) -> list[FreeLot]:
    anywhere = kept.pop(None, 0)
    there = {lot.pk: lot.on_hand for lot in lots}
    # What is kept from a lot that no longer holds it must come from wherever it can.
    anywhere += sum(max(0, left - there.get(pk or 0, 0)) for pk, left in kept.items())
    free = []
    for lot in reversed(lots):
        own = max(0, lot.on_hand - kept.get(lot.pk, 0))
        for_others = min(own, anywhere)
        anywhere -= for_others
        free.append(FreeLot(lot=lot, free=own - for_others))
    return free[::-1]
