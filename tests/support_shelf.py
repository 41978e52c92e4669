"""What tests of the shelf begin with: items, acts, lots."""

from datetime import date
from uuid import UUID, uuid4

import factory
from django.contrib.auth.models import User

from inventory.models import Lot, Offer, Posting, StockItem, StockMaterial, Supplier
from inventory.stock.ledger import Act, Arrival, receive

__all__ = ["ItemFactory", "SupplierFactory", "act", "item", "offered", "stocked"]


class MaterialFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = StockMaterial

    code = factory.Sequence(lambda number: f"material-{number}")
    name = factory.Sequence(lambda number: f"Material {number}")
    kind = "cord"
    unit_cost_millionths = 1_150_000


class ItemFactory(factory.django.DjangoModelFactory):
    """An item of a cord, or of what `material__kind` says."""

    class Meta:
        model = StockItem

    material = factory.SubFactory(MaterialFactory)
    code = factory.SelfAttribute("material.code")


class SupplierFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Supplier

    code = factory.Sequence(lambda number: f"supplier-{number}")
    name = factory.Sequence(lambda number: f"Supplier {number}")
    currency = "EUR"
    lead_days = 7


def item(kind: str = "cord", **facts: object) -> StockItem:
    """An item of a new material of a kind."""
    made: StockItem = ItemFactory(material__kind=kind, **facts)
    return made


def act(why: str = "", *, key: UUID | None = None, by: User | None = None, day: date | None = None) -> Act:
    """An act under a key of its own."""
    return Act(key=key or uuid4(), by=by, why=why, day=day)


def stocked(of: StockItem, quantity: int, value_minor: int, **facts: object) -> Lot:
    """A lot that was received."""
    posting: Posting = receive(act(), [Arrival(item=of, quantity=quantity, value_minor=value_minor, facts=facts)])
    return posting.movements.get().lot


def offered(
    supplier: Supplier, of: StockItem, pack: int, *breaks: tuple[int, int], unit: str = "", minimum_packs: int = 1
) -> Offer:
    """An offer of packs of so many metres or pieces; breaks of (packs, cents), one at 10.00 where none is said."""
    made: Offer = Offer.objects.create(
        supplier=supplier,
        item=of,
        pack_thousandths=pack * 1000,
        pack_unit=unit or of.unit.rec20_code,
        minimum_packs=minimum_packs,
        breaks=[{"from_packs": start, "price_minor": price} for start, price in breaks or [(1, 1000)]],
    )
    return made
