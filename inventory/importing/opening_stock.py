"""Opening stock: the rows of a maker's table as materials, items and lots, in one receipt of the ledger.

As `ledger.receive`, but for ten thousand rows at once: rows of each table are added together and the balances of the
items are written once, under the lock of the shelf's items.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from django.db.models import Max
from django.utils import timezone

from inventory.models import Lot, Movement, Posting, PriceRecord, StockItem, StockMaterial, Supplier
from inventory.shelf.settings import must_be_open
from inventory.spreadsheet.codes import FreeCodes
from inventory.spreadsheet.table import SheetRow
from inventory.stock.ledger import Act, fingerprint_of
from inventory.stock.memory_prices import Paid, locked_from_memory, price_by_receipt

__all__ = ["put_on_shelf"]

BATCH = 1000


def put_on_shelf(act: Act, rows: Sequence[SheetRow], *, price_source: str) -> Posting | None:
    """Keep the rows' materials and prices, and receive their stock; None where they hold no stock.

    Call it within the transaction that decides whether the rows are taken at all.
    """
    at = timezone.now()
    day = timezone.localdate(at)
    materials = _kept_materials(rows, at=at, price_source=price_source)
    marked = locked_from_memory({material.pk for material in materials.values()})
    items = _kept_items(rows, materials)
    stocked = [row for row in rows if row.quantity]
    if not stocked:
        return None
    must_be_open(day)
    suppliers: dict[str, int | None] = {"": None, **dict(Supplier.objects.values_list("code", "pk"))}
    posting = Posting.objects.create(
        key=act.key,
        fingerprint=_fingerprint(stocked, items, suppliers),
        kind=Posting.Kind.RECEIPT,
        why=act.why,
        at=at,
        by=act.by,
    )
    # Part by part, so that rows that are written are forgotten before the next are made.
    for first in range(0, len(stocked), BATCH):
        part = stocked[first : first + BATCH]
        lots = Lot.objects.bulk_create(
            Lot(
                item_id=items[row.code, row.size_tenths_mm].pk,
                received_on=day,
                dye_lot=row.dye_lot,
                place=row.place,
                supplier_id=suppliers[row.supplier],
                note=row.note,
                on_hand=row.quantity,
            )
            for row in part
        )
        Movement.objects.bulk_create(
            Movement(
                posting_id=posting.pk,
                item_id=lot.item_id,
                lot_id=lot.pk,
                day=day,
                quantity=row.quantity,
                value_minor=row.value_minor,
            )
            for lot, row in zip(lots, part, strict=True)
        )
    told = [row for row in stocked if row.says_cost]
    price_by_receipt(marked, (Paid(materials[row.code].pk, row.quantity, row.value_minor) for row in told))
    return posting


def _kept_materials(rows: Iterable[SheetRow], *, at: datetime, price_source: str) -> dict[str, StockMaterial]:
    """Make the materials that are new, set the prices and lengths of those that are there; all of them by code."""
    kept = StockMaterial.objects.in_bulk({row.code for row in rows if row.is_there}, field_name="code")
    # Behind what is there: the first of a kind is the one that new quotes take unasked.
    last = StockMaterial.objects.aggregate(last=Max("sort_order"))["last"] or 0
    before = {code: _as_kept(material) for code, material in kept.items()}
    touched: dict[str, StockMaterial] = {}
    prices: dict[str, int] = {}
    for row in rows:
        material = kept.get(row.code)
        if material is None:
            material = kept[row.code] = StockMaterial(
                code=row.code, name=row.name, kind=row.kind, colour=row.colour, sort_order=last + len(touched) + 1
            )
            if row.usable_width_mm:
                material.usable_width_mm = row.usable_width_mm
            material.width_tenths_mm = row.width_tenths_mm
        touched[row.code] = material
        if row.unit_cost_millionths is not None:
            prices[row.code] = max(prices.get(row.code, 0), row.unit_cost_millionths)
            material.unit_cost_millionths = prices[row.code]
            material.is_from_memory = False
        if row.size_tenths_mm and row.size_tenths_mm not in material.lengths_tenths_mm:
            material.lengths_tenths_mm = sorted([*material.lengths_tenths_mm, row.size_tenths_mm])
    new = [material for code, material in touched.items() if code not in before]
    StockMaterial.objects.bulk_create(new, batch_size=BATCH)
    StockMaterial.objects.bulk_create(
        [material for code, material in touched.items() if code in before and before[code] != _as_kept(material)],
        batch_size=BATCH,
        update_conflicts=True,
        unique_fields=["id"],
        update_fields=["unit_cost_millionths", "is_from_memory", "lengths_tenths_mm"],
    )
    PriceRecord.objects.bulk_create(
        (
            PriceRecord(
                material_id=material.pk,
                unit_cost_millionths=material.unit_cost_millionths,
                since=at,
                source=price_source,
            )
            for code, material in touched.items()
            if code not in before or before[code][0] != material.unit_cost_millionths
        ),
        batch_size=BATCH,
    )
    return touched


def _as_kept(material: StockMaterial) -> tuple[int, bool, list[int]]:
    """What a row may change of a material: its price first."""
    return material.unit_cost_millionths, material.is_from_memory, material.lengths_tenths_mm


def _kept_items(rows: Iterable[SheetRow], materials: dict[str, StockMaterial]) -> dict[tuple[str, int], StockItem]:
    """Make the items that are new and add the rows to the balances of all; by code and size."""
    codes = {material.pk: code for code, material in materials.items()}
    # The whole shelf is locked, in the order that every act locks it: an opening touches most of it.
    there = list(StockItem.objects.select_for_update().order_by("pk").values_list("pk", "code", "material"))
    made = FreeCodes(code for _, code, _ in there)
    touched = StockItem.objects.in_bulk([pk for pk, _, material in there if material in codes])
    items = {(codes[item.material_id], item.size_tenths_mm): item for item in touched.values() if not item.form}
    new: list[StockItem] = []
    changed: dict[tuple[str, int], StockItem] = {}
    for row in rows:
        key = (row.code, row.size_tenths_mm)
        if key not in items:
            if materials[row.code].lengths_tenths_mm and not row.size_tenths_mm:
                continue  # It comes in lengths, and this row sets its price only.
            items[key] = StockItem(
                material_id=materials[row.code].pk,
                size_tenths_mm=row.size_tenths_mm,
                code=made.free(StockItem.code_of(row.code, row.size_tenths_mm)),
                place=row.place,
            )
            new.append(items[key])
        elif row.quantity and items[key].pk is not None:
            changed[key] = items[key]
        items[key].on_hand += row.quantity
        items[key].value_minor += row.value_minor
    StockItem.objects.bulk_create(new, batch_size=BATCH)
    StockItem.objects.bulk_create(
        changed.values(),
        batch_size=BATCH,
        update_conflicts=True,
        unique_fields=["id"],
        update_fields=["on_hand", "value_minor"],
    )
    return items


def _fingerprint(
    rows: Iterable[SheetRow], items: Mapping[tuple[str, int], StockItem], suppliers: Mapping[str, int | None]
) -> str:
    """What the receipt says, told as the ledger tells it."""
    receipt = [
        [
            items[row.code, row.size_tenths_mm].pk,
            row.quantity,
            row.value_minor,
            {"dye_lot": row.dye_lot, "note": row.note, "place": row.place, "supplier": str(suppliers[row.supplier])},
        ]
        for row in rows
    ]
    return fingerprint_of(Posting.Kind.RECEIPT, receipt)
