"""Use cases of a shopping list for a fair or a shop: what is on it and what it may cost; what was bought, received in one act."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil

from django.db import transaction
from django.db.models import Sum
from django.utils import timezone
from django.utils.text import slugify

from inventory.ground.findings import refuse
from inventory.ground.measures import amount_of, pack_bases, quantity_of
from inventory.ground.money import Currency, currency_of
from inventory.models import KeptPlan, Lot, Movement, Offer, Posting, StockItem, Supplier
from inventory.reckoning.top_price import Quoted, TopPrice, top_prices
from inventory.shelf.settings import studio_currency
from inventory.stock.ledger import Act, Arrival, receive
from inventory.suppliers.terms import home_amount, offers_on, postage_minor, ready_pack

__all__ = ["Bought", "ToBuy", "receive_bought", "to_buy"]

Came = dict[str, int]
"""Base units that came of an item, by the state that they came in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToBuy:
    """What is to be bought of an item, in base units, of cloth as it is sold; `top` None where nobody offers it today."""

    item: StockItem
    quantity: int
    top: TopPrice | None
    offer: Offer | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """What was bought of an item, in base units, for so much in all, in minor units of the studio's currency."""

    item: StockItem
    quantity: int
    paid_minor: int
    dye_lot: str = ""
    is_raw: bool = False


def to_buy(chosen: Collection[str] = (), *, home: Currency) -> list[ToBuy]:
    """Return what the last kept plan is short of and has not come since, and the items of the chosen codes besides.

    A chosen item that the plan does not ask for is on the list with the fewest packs that are sold, or one unit.

    Args:
        home: the studio's currency, in which prices are told.
    """
    wanted, came = _wanted()
    listed = StockItem.objects.filter(code__in={*wanted, *chosen}).select_related("material")
    short = {item.code: left for item in listed if (left := _left(item, wanted, came))}
    items = [item for item in listed if item.code in short or item.code in chosen]
    offers: dict[int, list[Offer]] = {item.pk: [] for item in items}
    for offer in offers_on(timezone.localdate()).filter(item__in=items).order_by("pk"):
        if offer.tiers:
            offers[offer.item_id].append(offer)
    asked: dict[int, list[tuple[Quoted, Offer]]] = {}
    for item in items:
        asked[item.pk] = [(_quoted(offer, short.get(item.code, Decimal(0)), home), offer) for offer in offers[item.pk]]
    suppliers = {offer.supplier_id: offer.supplier for rows in offers.values() for offer in rows}
    tops = top_prices(
        {pk: [quoted for quoted, _ in rows] for pk, rows in asked.items()},
        lambda supplier, goods: _home_minor(suppliers[supplier], postage_minor(suppliers[supplier], goods), home),
    )
    rows = []
    for item in items:
        top = tops.get(item.pk)
        cheapest = next((offer for quoted, offer in asked[item.pk] if top and quoted is top.quoted), None)
        one = top.quoted.quantity if top else quantity_of(Decimal(1), item.unit)
        left = item.material.before_wash(short[item.code]) if item.code in short else None
        quantity = one if left is None else quantity_of(left, item.unit)
        rows.append(ToBuy(item=item, quantity=quantity, top=top, offer=cheapest))
    return rows


@transaction.atomic
def receive_bought(act: Act, bought: Sequence[Bought], *, supplier: Supplier | None, new_place: str = "") -> Posting:
    """Put on the shelf what was bought without an order, of a known supplier or of a new one by its name; once per key.

    Raises:
        Refused: nothing was bought, nobody says where, or as `receive` does.
    """
    if not bought:
        raise refuse("shopping.nothing", "the list", "Nothing is ticked off.", "Tick off what was bought.")
    name = " ".join(new_place.split())
    if (supplier is None) == (not name):
        raise refuse("shopping.where", "where", "It was bought at one place.", "Choose a place, or name a new one.")
    place = supplier or _named(name)
    return receive(
        act,
        [
            Arrival(
                item=row.item,
                quantity=row.quantity,
                value_minor=row.paid_minor,
                facts={
                    "supplier": place,
                    "dye_lot": row.dye_lot,
                    "place": row.item.place,
                    "state": Lot.State.RAW if row.is_raw else Lot.State.READY,
                },
            )
            for row in bought
        ],
    )


def _wanted() -> tuple[Mapping[str, Decimal], Mapping[str, Came]]:
    """By code, what the last kept plan would order or is late with, and what has come since, as it is once washed."""
    kept = KeptPlan.objects.order_by("-id").first()
    if kept is None:
        return {}, {}
    late: dict[str, Decimal] = {}
    for shortage in kept.plan.shortages:
        late[shortage.material] = late.get(shortage.material, Decimal(0)) + Decimal(shortage.quantity)
    ordered: dict[str, Decimal] = {}
    for line in () if kept.ordered_at else (line for order in kept.plan.orders for line in order.lines):
        ordered[line.material] = ordered.get(line.material, Decimal(0)) + Decimal(line.quantity)
    codes = late.keys() | ordered.keys()
    came: dict[str, Came] = defaultdict(dict)
    receipts = Movement.objects.filter(
        posting__kind=Posting.Kind.RECEIPT, posting__at__gt=kept.made_at, item__code__in=codes
    ).order_by()
    for code, state, total in receipts.values_list("item__code", "lot__state").annotate(total=Sum("quantity")):
        came[code][state] = total
    return {code: max(late.get(code, Decimal(0)), ordered.get(code, Decimal(0))) for code in codes}, came


def _left(item: StockItem, wanted: Mapping[str, Decimal], came: Mapping[str, Came]) -> Decimal | None:
    """What is still short of an item, in stock units of ready cloth; None for nothing."""
    there = Decimal(0)
    for state, total in came.get(item.code, {}).items():
        amount = amount_of(total, item.unit)
        there += item.material.once_washed(amount) if state == Lot.State.RAW else amount
    left = round(wanted.get(item.code, Decimal(0)) - there, 3)
    return left if left > 0 else None


def _quoted(offer: Offer, wanted: Decimal, home: Currency) -> Quoted:
    """What enough packs of an offer hold as they are sold, and cost; `wanted` in stock units of ready cloth."""
    packs = max(offer.minimum_packs, ceil(wanted / ready_pack(offer, offer.item)))
    goods = packs * offer.price_minor(packs)
    return Quoted(
        supplier=offer.supplier_id,
        packs=packs,
        quantity=pack_bases(offer.pack_thousandths, offer.pack_unit, offer.item.unit, packs=packs),
        amount=_home_minor(offer.supplier, goods, home),
        goods=goods,
    )


def _home_minor(supplier: Supplier, amount: int, home: Currency) -> int:
    return home.to_minor(
        home_amount(amount, supplier.rate_millionths, theirs=currency_of(supplier.currency), home=home)
    )


def _named(name: str) -> Supplier:
    """The supplier of a name, made where there is none."""
    if (known := Supplier.objects.filter(name__iexact=name).order_by("is_retired", "pk").first()) is not None:
        return known
    stem = slugify(name)[:34] or "place"
    taken = set(Supplier.objects.filter(code__startswith=stem).values_list("code", flat=True))
    code = next(
        code for number in range(len(taken) + 1) if (code := f"{stem}-{number + 1}" if number else stem) not in taken
    )
    return Supplier.objects.create(code=code, name=name, currency=studio_currency().code, lead_days=0)
