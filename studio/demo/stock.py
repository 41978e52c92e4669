"""The demo's year at the shelf: what came, what was used, a remnant, a late delivery, and what lies still.

Days are counted back from the day on which the demo is loaded; amounts come from a fixed seed, so that the story is the
same whenever it is told.
"""

import random
from datetime import timedelta
from uuid import UUID

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.models import Lot, PurchaseOrder, StockItem, Supplier
from inventory.services.ledger import Act, Arrival, Remnant, issue, receive, split_off, wash
from inventory.services.purchasing import Arrived, OrderWish, draft_order, place, take_in
from studio.demo.suppliers import item

WEEKS = 52
# What a piece takes on average, in base units, of what is used in nearly every piece.
PER_PIECE = {
    "coutil-white": 380,
    "spiral-7-coil": 2400,
    "tip-7": 22,
    "flat-7-dipped@2413": 4,
    "flat-7-dipped@2540": 2,
    "busk-standard@2540": 1,
    "grommet-00-nickel-free": 28,
    "cord-flat-6": 5500,
    "twill-22": 760,
    "casing-10": 2700,
    "thread-core-spun": 90_000,
    "calico-firm": 400,
    "fusible-woven": 65,
    "needle-100": 1,
    "label-set": 1,
    "parcel-box": 1,
}
PIECES = 22
LEFT_PIECES = {"spiral-7-coil": 1.4, "tip-7": 0.6, "cord-flat-6": 1.2, "grommet-00-nickel-free": 0.9, "twill-22": 2.2}
SAFETY_PIECES = 1
# Policy: what is in every piece lasts in 95 of 100 waits, what is dear or quick to get keeps one piece's reserve.
BY_SERVICE = {"tip-7", "grommet-00-nickel-free", "cord-flat-6", "spiral-7-coil", "thread-core-spun"}
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


class _Acts:
    """Acts under keys that are the same whenever the demo is loaded."""

    def __init__(self, maker: User) -> None:
        self._maker = maker
        self._chance = random.Random(1911)

    def act(self, days_ago: int, why: str = "") -> Act:
        """An act some days ago."""
        key = UUID(int=self._chance.getrandbits(128), version=4)
        return Act(key=key, by=self._maker, why=why, day=timezone.localdate() - timedelta(days=days_ago))


def load(maker: User) -> None:
    """Fill the shelf."""
    acts = _Acts(maker)
    _policies()
    _year_of_work(acts)
    _cloth(acts)
    _still(acts)
    _late_order(maker, acts)


def _policies() -> None:
    for row in StockItem.objects.select_related("material"):
        row.place = PLACES.get(row.material.kind, "Shelf by the window")
        row.save(update_fields=["place"])
    for words, amount in PER_PIECE.items():
        row = item(words)
        row.place = PLACES.get(row.material.kind, "Shelf by the window")
        row.policy = StockItem.Policy.SERVICE if words in BY_SERVICE else StockItem.Policy.SAFETY
        row.safety = amount * SAFETY_PIECES
        row.save(update_fields=["place", "policy", "safety"])


def _year_of_work(acts: _Acts) -> None:
    """Stock for a year's pieces, and their issues on days that no calendar orders."""
    chance = random.Random(1893)
    for words, amount in PER_PIECE.items():
        row = item(words)
        days = sorted(chance.sample(range(6, WEEKS * 7), PIECES), reverse=True)
        taken = [max(1, round(amount * chance.uniform(0.8, 1.25))) for _ in days]
        left = round(amount * LEFT_PIECES.get(words, 3))
        bought = sum(taken) + left
        price = row.material.value_minor(bought, "EUR")
        facts = {"supplier": _supplier_of(row), "place": row.place}
        first = receive(
            acts.act(WEEKS * 7 + 5, "Stock at the start"),
            [Arrival(item=row, quantity=bought, value_minor=price, facts=facts)],
        )
        lot = Lot.objects.get(movements__posting=first)
        for number, (days_ago, quantity) in enumerate(zip(days, taken, strict=True), start=1):
            issue(acts.act(days_ago), lot=lot, quantity=quantity, job=f"P{number}")


def _cloth(acts: _Acts) -> None:
    """Fashion cloths: one lot ready, one raw and washed in part, a remnant that a lining fits, too little brocade."""
    satin = _came(acts, "coutil-satin-bottle", 3000, 40, dye_lot="B-207")
    split_off(acts.act(12, "Left of a bodice"), lot=satin, remnant=Remnant(width_mm=640, length_mm=720))
    raw = _came(acts, "coutil-black", 2000, 25, dye_lot="N-31", state=Lot.State.RAW)
    wash(acts.act(20), lot=raw, quantity=1000, ready_quantity=968)
    _came(acts, "brocade-quince", 400, 90, dye_lot="Q-3")
    lawn = _came(acts, "lawn-ivory", 900, 60)
    split_off(acts.act(30, "Left of a lining"), lot=lawn, remnant=Remnant(width_mm=1240, length_mm=660))


def _still(acts: _Acts) -> None:
    """Plum silk that nobody has asked for in more than a year."""
    _came(acts, "silk-dupion-plum", 4200, 440, dye_lot="PL-1")


def _late_order(maker: User, acts: _Acts) -> None:
    """Two orders that came, one of them late; and one for black busks that should have been here."""
    today = timezone.localdate()
    for days_ago, took in ((70, 5), (45, 9)):
        order = _ordered(maker, "otterburn", "BS-10", 1, days_ago)
        line = order.lines.get()
        take_in(
            acts.act(days_ago - took, str(order)),
            order,
            [Arrived(line=line, quantity=line.quantity, place="Steel drawer")],
            freight_minor=690,
            duty_minor=0,
        )
    late = _ordered(maker, "otterburn", "BB-13", 1, 12)
    assert late.expected_on < today


def _ordered(maker: User, supplier: str, article: str, packs: int, days_ago: int) -> PurchaseOrder:
    day = timezone.localdate() - timedelta(days=days_ago)
    row = Supplier.objects.get(code=supplier)
    wish = OrderWish(offer=row.offers.get(their_code=article), packs=packs)
    order = draft_order(row, [wish], user=maker, on=day)
    place(order, on=day)
    return order


def _came(acts: _Acts, words: str, quantity: int, days_ago: int, **facts: str) -> Lot:
    row = item(words)
    value = row.material.value_minor(quantity, "EUR")
    kept = {"supplier": _supplier_of(row), "place": row.place, **facts}
    posting = receive(acts.act(days_ago), [Arrival(item=row, quantity=quantity, value_minor=value, facts=kept)])
    return Lot.objects.select_related("item__material").get(movements__posting=posting)


def _supplier_of(row: StockItem) -> Supplier | None:
    offer = row.offers.select_related("supplier").first()
    return offer.supplier if offer else None
