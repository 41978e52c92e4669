"""In which forms the shelf has bones, and what each costs: the drawer as the bone plan of a quote takes it."""

from collections import defaultdict
from decimal import Decimal

from django.db.models import F, Sum
from django.utils import timezone

from inventory.ground.bone_forms import BoneForm, PricedForm
from inventory.ground.materials import BONES, KINDS, kind_of
from inventory.models import StockItem, StockMaterial
from inventory.reserving.reservations import active_lines
from inventory.shelf.settings import studio_currency

__all__ = ["forms_of_bones"]

COST_DECIMALS = Decimal("0.000001")


def forms_of_bones(reference: str = "") -> dict[int, tuple[PricedForm, ...]]:
    """Return, by material, the forms of bones that come in another way than their kind is usually sold.

    What has a price can be bought, as many as are wanted. What has none and lies there, such as an offcut, is offered as
    many as are not kept for other work than `reference`, at what they are worth on the average. What has neither is not
    offered.
    """
    items: dict[int, list[StockItem]] = defaultdict(list)
    for item in StockItem.objects.filter(material__kind__in=BONES, material__is_retired=False).select_related(
        "material"
    ):
        items[item.material_id].append(item)
    special = {key for key, rows in items.items() if any(_is_special(row) for row in rows)}
    kept = _kept_for_others([row.pk for key in special for row in items[key]], reference) if special else {}
    currency = studio_currency().code
    return {
        key: tuple(form for row in items[key] if (form := _priced(row, kept.get(row.pk, 0), currency)) is not None)
        for key in sorted(special)
    }


def _is_special(item: StockItem) -> bool:
    return bool(item.form) or item.own_cost_millionths is not None or _is_own_form(item.material)


def _is_own_form(material: StockMaterial) -> bool:
    return material.bone_form is not KINDS[kind_of(material.kind)].form


def _priced(item: StockItem, kept: int, currency: str) -> PricedForm | None:
    form = item.bone_form
    assert form is not None
    length = item.size_tenths_mm / 10 if item.size_tenths_mm else None
    if form is not BoneForm.COIL and length is None and item.form:
        return None  # Of a bone without a length nothing can be said.
    if item.unit_cost is not None and not item.is_rest:
        return PricedForm(form=form, length_mm=length, unit_cost=item.unit_cost)
    free = item.on_hand - kept
    if free <= 0 or form is BoneForm.COIL:
        return None
    worth = item.average_cost(currency).quantize(COST_DECIMALS)
    return PricedForm(form=form, length_mm=length, unit_cost=worth, free=free)


def _kept_for_others(items: list[int], reference: str) -> dict[int, int]:
    others = active_lines(on=timezone.localdate()).filter(item__in=items).exclude(reservation__reference=reference)
    return dict(others.order_by().values_list("item").annotate(total=Sum(F("quantity") - F("issued"))))
