"""The demo's suppliers and their offers, from `suppliers.json`."""

from collections.abc import Sequence
from datetime import timedelta

from django.utils import timezone

from inventory.ground.reading import data_beside
from inventory.models import Offer, StockItem, StockMaterial, Supplier
from inventory.stock.price_list import item_of


def load() -> None:
    """Add the suppliers with what they ask."""
    for row in data_beside(__file__, "suppliers.json")["suppliers"]:
        supplier = Supplier.objects.create(
            code=row["code"],
            name=row["name"],
            currency="EUR",
            lead_days=row["lead_days"],
            lead_spread_days=row["lead_spread_days"],
            postage_minor=row["postage_minor"],
            postage_free_from_minor=row.get("postage_free_from_minor"),
            minimum_order_minor=row.get("minimum_order_minor"),
            note=row.get("note", ""),
            closed=_closed(row.get("closed_in_days", [])),
        )
        Offer.objects.bulk_create(
            Offer(
                supplier=supplier,
                item=item(offer["item"]),
                their_code=offer["article"],
                pack_thousandths=offer["pack_thousandths"],
                pack_unit=offer["unit"],
                minimum_packs=offer.get("minimum_packs", 1),
                breaks=[{"from_packs": start, "price_minor": price} for start, price in offer["breaks"]],
            )
            for offer in row["offers"]
        )


def item(words: str) -> StockItem:
    """The item of `material` or `material@length in tenths of a millimetre`, made where it is new."""
    code, _, tenths = words.partition("@")
    return item_of(StockMaterial.objects.get(code=code), int(tenths or 0))


def _closed(days: Sequence[tuple[int, int]]) -> list[list[str]]:
    """Closed days, told as days from the day on which the demo is loaded."""
    today = timezone.localdate()
    return [
        [(today + timedelta(days=first)).isoformat(), (today + timedelta(days=last)).isoformat()]
        for first, last in days
    ]
