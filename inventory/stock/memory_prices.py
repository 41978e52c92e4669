"""Prices from memory, as a starter list has them: which still are, and how a receipt takes their place.

The question: what does a material cost of which nobody has said a price and nothing was bought yet?
"""

from collections.abc import Collection, Iterable
from typing import NamedTuple

from django.utils import timezone

from inventory.ground.measures import BASES_PER_UNIT
from inventory.ground.money import nearest
from inventory.models import PriceRecord, StockMaterial
from inventory.models.materials import MILLIONTHS
from inventory.shelf.settings import studio_currency

__all__ = ["Paid", "from_memory", "locked_from_memory", "price_by_receipt"]


class Paid(NamedTuple):
    """What came of a material by its key: base units, and minor units of the studio's currency, landed."""

    material: int
    quantity: int
    value_minor: int


def from_memory(codes: Collection[str]) -> frozenset[str]:
    """Return which of these materials still have their price from memory."""
    return frozenset(StockMaterial.objects.filter(code__in=codes, is_from_memory=True).values_list("code", flat=True))


def locked_from_memory(materials: Collection[int]) -> list[StockMaterial]:
    """Return those of these materials, by key, whose price is from memory, locked until the transaction ends.

    Call it before the items are locked: whoever keeps a material locks in that order too.
    """
    marked = StockMaterial.objects.filter(is_from_memory=True)
    keys = set(materials).intersection(marked.values_list("pk", flat=True))
    return list(marked.select_for_update().filter(pk__in=keys).order_by("pk")) if keys else []


def price_by_receipt(marked: Iterable[StockMaterial], paid: Iterable[Paid]) -> None:
    """Give each of the marked materials the price that a receipt shows, landed, half a millionth up.

    What came without cost says nothing of a price: the material stays marked.
    """
    came = list(paid)
    for material in marked:
        quantity = sum(row.quantity for row in came if row.material == material.pk)
        value_minor = sum(row.value_minor for row in came if row.material == material.pk)
        if value_minor <= 0:
            continue
        per_base = int(MILLIONTHS.scaleb(-studio_currency().digits)) * BASES_PER_UNIT[material.unit]
        material.unit_cost_millionths = nearest(value_minor * per_base, quantity)
        material.is_from_memory = False
        material.save(update_fields=["unit_cost_millionths", "is_from_memory"])
        PriceRecord.objects.create(
            material=material,
            unit_cost_millionths=material.unit_cost_millionths,
            since=timezone.now(),
            source="the first receipt, landed",
        )
