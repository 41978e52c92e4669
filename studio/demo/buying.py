"""How the demo's shelf is filled: stock at the start, the joint order every fortnight, what is fetched in a hurry."""

from datetime import date, timedelta
from functools import partial

from inventory.buying.purchasing import Arrived, place, take_in
from inventory.buying.reordering import make_orders, plan_reorder
from inventory.ground.materials import StockUnit
from inventory.models import Lot, PurchaseOrder, Shelf, StockItem, Supplier
from inventory.stock.ledger import Arrival, receive
from studio.demo.diary import Diary, workday
from studio.demo.suppliers import item

__all__ = ["PER_PIECE", "came", "fetched", "plan", "policies", "ready_lots", "received"]

# What a piece takes on average, in base units, of what is used in nearly every piece.
PER_PIECE = {
    "coutil-white": 380,
    "spiral-7-coil": 2800,
    "tip-7": 24,
    "flat-7-dipped@2413": 4,
    "flat-7-dipped@2540": 2,
    "busk-standard@2540": 1,
    "grommet-00-nickel-free": 29,
    "cord-flat-6": 6000,
    "twill-22": 770,
    "casing-10": 2000,
    "thread-core-spun": 95_000,
    "calico-firm": 360,
    "fusible-woven": 65,
    "needle-100": 1,
    "label-set": 1,
    "parcel-box": 1,
}
START_PIECES = 3
FIRST_DAYS_AGO, LAST_DAYS_AGO = 742, 25
DAYS_BETWEEN = 14
SECONDS = 10.0
DUTY_FREE = 0
FETCHED_STEP_MM = 100
FETCHED_DEARER = 1.25  # what is bought over a counter costs so much of the list price
# Policy: of what is in every piece 95 % of unforeseen use is met, what is dear or quick to get keeps one piece's reserve.
BY_SERVICE = {"tip-7", "grommet-00-nickel-free", "cord-flat-6", "spiral-7-coil", "thread-core-spun"}
SAFETY_PIECES = 1
PLACES = {
    "cloth": "Rail",
    "toile-cloth": "Rail",
    "fusible": "Rail",
    "spiral": "Steel drawer",
    "flat": "Steel drawer",
    "busk": "Steel drawer",
    "tip": "Jars",
    "grommet": "Jars",
    "needle": "Jars",
}
OTHER_PLACE = "Shelf by the window"


def policies() -> None:
    """Say how often the maker looks what to order, and of each item where it lies and what is kept of it in reserve."""
    Shelf.objects.update(review_days=DAYS_BETWEEN)
    for words in PER_PIECE:
        item(words)
    for row in StockItem.objects.select_related("material"):
        row.place = PLACES.get(row.material.kind, OTHER_PLACE)
        words = f"{row.material.code}@{row.size_tenths_mm}" if row.size_tenths_mm else row.material.code
        if words in PER_PIECE:
            row.policy = StockItem.Policy.SERVICE if words in BY_SERVICE else StockItem.Policy.SAFETY
            row.safety = PER_PIECE[words] * SAFETY_PIECES
        row.save(update_fields=["place", "policy", "safety"])


def plan(diary: Diary) -> None:
    """Put the first stock and two years of orders into the diary."""
    diary.plan(diary.day(FIRST_DAYS_AGO + 1), lambda: _stock_at_the_start(diary))
    for days_ago in range(FIRST_DAYS_AGO, LAST_DAYS_AGO, -DAYS_BETWEEN):
        day = workday(diary.day(days_ago))
        diary.plan(day, partial(_order, diary, day), hour=8)


def ready_lots(row: StockItem) -> list[Lot]:
    """Lots that work is cut from: what was begun first, then as they came."""
    lots = Lot.objects.filter(
        item=row, on_hand__gt=0, state=Lot.State.READY, remnant_width_mm__isnull=True
    ).select_related("item__material")
    return list(lots.order_by("-is_open", "received_on", "pk"))


def fetched(diary: Diary, row: StockItem, quantity: int) -> Lot:
    """Buy what lacks over a counter in town, at more than the list asks where a supplier offers it for that."""
    if row.unit is StockUnit.METRE:
        quantity = -(-quantity // FETCHED_STEP_MM) * FETCHED_STEP_MM
    share = FETCHED_DEARER if row.offers.exists() else 1.0
    value = round(row.price_minor(quantity, "EUR") * share)
    return received(diary, row, quantity, value_minor=value, note="Fetched in town", why="It was not there in time")


def came(diary: Diary, words: str, quantity: int, **facts: str) -> Lot:
    """Receive so much of an item at its list price from whoever offers it."""
    row = item(words)
    offer = row.offers.select_related("supplier").first()
    value = row.price_minor(quantity, "EUR")
    return received(diary, row, quantity, value_minor=value, supplier=offer.supplier if offer else None, **facts)


def received(
    diary: Diary, row: StockItem, quantity: int, *, value_minor: int, why: str = "", **facts: str | Supplier | None
) -> Lot:
    """Put goods on the shelf as a lot."""
    arrival = Arrival(item=row, quantity=quantity, value_minor=value_minor, facts={"place": row.place, **facts})
    posting = receive(diary.act(why), [arrival])
    return Lot.objects.select_related("item__material").get(movements__posting=posting)


def _stock_at_the_start(diary: Diary) -> None:
    for words, amount in PER_PIECE.items():
        came(diary, words, amount * START_PIECES)


def _order(diary: Diary, day: date) -> None:
    """Plan the joint order as the reorder page does, place it, and take it in when it comes."""
    kept = plan_reorder(on=day, user=diary.maker, seconds=SECONDS)
    if not kept.plan.orders:
        return
    for order in make_orders(kept, user=diary.maker, on=day):
        place(order, on=day)
        late = diary.chance.randint(-1, 1) * order.supplier.lead_spread_days
        arrives = workday(max(day, order.expected_on + timedelta(days=late)))
        diary.plan(arrives, partial(_take_in, diary, order), hour=9)


def _take_in(diary: Diary, order: PurchaseOrder) -> None:
    lines = order.lines.select_related("item__material")
    take_in(
        diary.act(str(order)),
        order,
        [Arrived(line=line, quantity=line.quantity, place=line.item.place) for line in lines],
        freight_minor=order.postage_minor,
        duty_minor=DUTY_FREE,
    )
