"""Materials: kept with an item per size and the history of their prices, and the price list as the pricing rooms take it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import Finding, warn
from inventory.ground.materials import Material, MaterialKind, UnknownKind
from inventory.ground.pictures import Picture, tone_of_picture
from inventory.models import PriceRecord, StockItem, StockMaterial
from inventory.models.materials import MILLIONTHS
from inventory.shelf.pictures import keep_picture
from inventory.spreadsheet.codes import FreeCodes
from inventory.stock.bone_prices import forms_of_bones

__all__ = [
    "item_of",
    "keep_bone_form",
    "keep_bone_prices",
    "keep_material",
    "of_unknown_kind",
    "price_list",
    "price_list_and_skipped",
]


def price_list(reference: str = "") -> tuple[Material, ...]:
    """Return the materials that quotes may use, in the order of the shelf; the first of a kind is its default.

    Args:
        reference: of the work that is quoted: what is kept for it counts as free for it.
    """
    return price_list_and_skipped(reference)[0]


def price_list_and_skipped(reference: str = "") -> tuple[tuple[Material, ...], tuple[Finding, ...]]:
    """Return the price list, and a warning for each material that it goes without, as its kind is not known here."""
    materials: list[Material] = []
    skipped: list[Finding] = []
    forms = forms_of_bones(reference)
    for row in StockMaterial.objects.filter(is_retired=False):
        try:
            materials.append(replace(row.priced(), forms=forms.get(row.pk, ())))
        except UnknownKind:
            skipped.append(_skipped(row))
    return tuple(materials), tuple(skipped)


def of_unknown_kind() -> tuple[Finding, ...]:
    """Return a warning for each material, retired ones too, whose kind is not known here."""
    return tuple(_skipped(row) for row in StockMaterial.objects.exclude(kind__in=list(MaterialKind)))


def _skipped(row: StockMaterial) -> Finding:
    return warn(
        "shelf.unknown-kind",
        f"{row.name} ({row.code})",
        f"This material is of the kind {row.kind!r}, which this version does not know; it is left out here.",
        "Start the version that wrote it, or a later one.",
    )


@transaction.atomic
def keep_material(material: StockMaterial, *, price_source: str, swatch: Picture | None = None) -> StockMaterial:
    """Save a material with an item per size, its price in the history where it changed, and a new swatch where there is one.

    A price that changed is from memory no more; a material whose photograph was taken away has no swatch any more.
    """
    before = StockMaterial.objects.select_for_update().filter(pk=material.pk).first() if material.pk else None
    is_repriced = before is None or before.unit_cost_millionths != material.unit_cost_millionths
    if before is not None and (is_repriced or not before.is_from_memory):
        material.is_from_memory = False
    if swatch is not None:
        material.swatch, material.photo_tone = keep_picture(swatch), tone_of_picture(swatch)
    elif not material.photo:
        material.swatch, material.photo_tone = None, ""
    material.save()
    for tenths in material.lengths_tenths_mm or [0]:
        item_of(material, tenths)
    if is_repriced:
        PriceRecord.objects.create(
            material=material,
            unit_cost_millionths=material.unit_cost_millionths,
            since=timezone.now(),
            source=price_source,
        )
    return material


@transaction.atomic
def keep_bone_form(
    material: StockMaterial, form: BoneForm, lengths: Sequence[int], unit_cost: Decimal
) -> list[StockItem]:
    """Keep a further form of a bone at a price of one, in each of the lengths (tenths of a millimetre; a coil has none).

    Lengths that are kept in this form already get the price.
    """
    items = [item_of(material, tenths, form) for tenths in lengths or [0]]
    keep_bone_prices(material, {item.pk: unit_cost for item in items})
    return items


@transaction.atomic
def keep_bone_prices(material: StockMaterial, prices: Mapping[int, Decimal | None]) -> None:
    """Keep what one costs by item of a material; None takes a price away, and what has none cannot be bought."""
    for item, unit_cost in prices.items():
        cost = None if unit_cost is None else int(unit_cost * MILLIONTHS)
        StockItem.objects.filter(pk=item, material=material).update(own_cost_millionths=cost)


def item_of(material: StockMaterial, size_tenths_mm: int = 0, form: BoneForm | None = None) -> StockItem:
    """Return the item of a material in a form and a size, making it where it was never kept before.

    Without a form it is the material's own. A coil has no size.
    """
    other = "" if form is None or form is material.bone_form else form.value
    size = 0 if (form or material.bone_form) is BoneForm.COIL else size_tenths_mm
    item = StockItem.objects.filter(material=material, form=other, size_tenths_mm=size).first()
    if item is not None:
        return item
    code = StockItem.code_of(material.code, size, other)
    taken = FreeCodes(StockItem.objects.filter(code__startswith=code).values_list("code", flat=True))
    item, _ = StockItem.objects.get_or_create(
        material=material, form=other, size_tenths_mm=size, defaults={"code": taken.free(code)}
    )
    return item
