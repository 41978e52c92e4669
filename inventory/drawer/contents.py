"""What lies in the drawer as the books have it: the slots that the grid is made of, in a few queries for all of them."""

from collections import defaultdict
from collections.abc import Collection
from datetime import date

from inventory.drawer.grid import Need, Slot, Tray, trays
from inventory.ground.bone_forms import BoneForm
from inventory.ground.defaults import shelf_defaults
from inventory.models import StockItem
from inventory.reserving.availability import availability
from inventory.reserving.lying import lying
from inventory.reserving.reservations import active_lines

__all__ = ["bones", "drawer"]


def bones(kinds: Collection[str]) -> list[StockItem]:
    """Return the items of bones of some kinds that are used still, in the order of the shelf."""
    still_used = StockItem.objects.filter(material__kind__in=kinds, material__is_retired=False)
    return list(still_used.select_related("material"))


def drawer(items: Collection[StockItem], *, on: date) -> tuple[Tray, ...]:
    """Return the grid of some items as it stands on a day, accepted work served before quotes that are out."""
    keys = [item.pk for item in items]
    standing, there = availability(keys, on=on), lying(keys)
    needs: dict[int, list[Need]] = defaultdict(list)
    lines = active_lines(on=on).filter(item__in=keys).select_related("reservation")
    for line in lines.order_by("-reservation__is_firm", "reservation__needed_by", "pk"):
        needs[line.item_id].append(Need(reference=line.reservation.reference, quantity=line.remaining))
    slots = []
    for item in items:
        form, width = item.bone_form, item.material.width_tenths_mm
        assert form is not None
        slots.append(
            Slot(
                code=item.code,
                bone=item.material.code,
                kind=item.material.kind,
                form=form,
                width_mm=None if width is None else width / 10,
                length_mm=item.size_tenths_mm / 10 if item.size_tenths_mm else None,
                there=standing[item.pk].usable,
                coming=standing[item.pk].on_order,
                pieces=tuple(there[item.pk].lots.values()) if form is BoneForm.COIL else (),
                needs=needs[item.pk],
                is_sold=_is_sold(item),
            )
        )
    return trays(slots, shorter_mm=shelf_defaults().buying.freely_shorter_mm)


def _is_sold(item: StockItem) -> bool:
    """Whether it can be bought by today's prices; of the own form, in the lengths that its material comes in."""
    if item.form or item.own_cost_millionths is not None:
        return item.own_cost_millionths is not None
    lengths = item.material.lengths_tenths_mm if item.material.bone_form is not BoneForm.COIL else []
    return item.size_tenths_mm in (lengths or [0])
