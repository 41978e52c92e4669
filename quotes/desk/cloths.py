"""The cloths that a piece can be made from, with what the shelf holds free of each."""

from collections.abc import Sequence
from datetime import date

from inventory.ground.materials import Material, MaterialKind, StockUnit
from inventory.ground.measures import quantity_text
from inventory.models import StockItem
from inventory.reserving.availability import availability

__all__ = ["cloths_to_choose"]


def cloths_to_choose(materials: Sequence[Material], *, on: date) -> list[tuple[Material, str]]:
    """Return each cloth of a price list with what is free of it in words, in the order of the list."""
    cloths = [material for material in materials if material.kind is MaterialKind.CLOTH]
    items = dict(StockItem.objects.filter(material__kind=MaterialKind.CLOTH.value).values_list("pk", "material__code"))
    free: dict[str, int] = {}
    for pk, there in availability(list(items), on=on).items():
        free[items[pk]] = free.get(items[pk], 0) + max(0, there.free)
    return [(cloth, f"{quantity_text(free.get(cloth.code, 0), StockUnit.METRE)} free") for cloth in cloths]
