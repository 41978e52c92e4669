"""A large shelf, drawn at random and the same each time: two years of a ledger whose balances are what it says.

Rows are added straight to the tables, many at once; `audit` proves them. Nothing is measured here.
"""

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID

from inventory.models import (
    Lot,
    Movement,
    Offer,
    Posting,
    PurchaseLine,
    PurchaseOrder,
    Reservation,
    ReservationLine,
    StockItem,
    StockMaterial,
    Supplier,
)
from inventory.reckoning.valuation import Layer, take

__all__ = ["Books"]

DAYS = 730
BATCH = 2000
KINDS = ("cloth", "spiral", "busk", "grommet", "cord", "casing", "thread", "tip", "waist-tape")
FLATS_TENTHS = (1780, 1830, 2290, 2340)  # two and two 5 mm apart, so that the shorter may stand in
POLICIES = {"as-needed": 60, "safety": 25, "service": 15}
ACTS = {"issue": 82, "return": 6, "scrap": 4, "count": 4, "washing": 2, "splitting": 2}
Kind = Posting.Kind


@dataclass(frozen=True, slots=True)
class Act:
    """A posting to be, with its changes: lot, quantity, value."""

    day: date
    kind: str
    job: str
    changes: list[tuple[Lot, int, int]]


class Books:
    """Fills an empty shelf; `stock` may be called again for a shelf that grows."""

    def __init__(self, today: date) -> None:
        self.today, self.draw = today, random.Random(1852)
        self.items: list[StockItem] = []
        self.suppliers = self._suppliers()

    def stock(self, *, materials: int, movements: int) -> None:
        """Add so many materials and so many movements, many of some and few of most."""
        items = self._items(materials)
        weights = [self.draw.paretovariate(1.5) for _ in items]
        counts = Counter(range(len(items)))
        counts.update(self.draw.choices(range(len(items)), weights, k=movements - len(items)))
        acts = [act for place, count in counts.items() for act in self._history(items[place], count)]
        acts.sort(key=lambda act: act.day)
        StockItem.objects.bulk_create(items, batch_size=BATCH)
        lots = {id(lot): lot for act in acts for lot, _, _ in act.changes}
        Lot.objects.bulk_create(lots.values(), batch_size=BATCH)
        postings = Posting.objects.bulk_create((self._posting(act) for act in acts), batch_size=BATCH)
        Movement.objects.bulk_create(
            (
                Movement(posting=posting, item=lot.item, lot=lot, day=act.day, quantity=quantity, value_minor=value)
                for posting, act in zip(postings, acts, strict=True)
                for lot, quantity, value in act.changes
            ),
            batch_size=BATCH,
        )
        self.items += items

    def trade(self, *, offered: int, needed: int, coming: int) -> None:
        """Offer so many items, need so many for accepted work and half as many for quotes, have so many on order."""
        some = self.draw.sample(self.items, offered)
        others = [item for item in self.items if item not in set(some)]
        Offer.objects.bulk_create([offer for item in some for offer in self._offers(item)], batch_size=BATCH)
        self._reserve([*some[needed // 10 : needed], *others[: needed // 10]], is_firm=True)
        self._reserve(some[-needed // 2 :], is_firm=False)
        self._order(self.draw.sample(some, coming))

    def _suppliers(self) -> list[Supplier]:
        draw, closed = self.draw, self.today + timedelta(days=12)
        return Supplier.objects.bulk_create(
            Supplier(
                code=f"supplier-{number:02}",
                name=f"Supplier {number}",
                currency="GBP" if number % 4 == 0 else "EUR",
                rate_millionths=1_170_000 if number % 4 == 0 else 1_000_000,
                lead_days=draw.randint(2, 20),
                lead_spread_days=draw.randint(0, 4),
                closed=[[f"{closed}", f"{closed + timedelta(days=9)}"]] if number % 5 == 0 else [],
                postage_minor=draw.randint(4, 12) * 100 + 50,
                postage_free_from_minor=draw.choice([50_00, 80_00, 120_00, 200_00]),
                minimum_order_minor=draw.choice([20_00, 35_00]) if number % 4 == 0 else None,
            )
            for number in range(12)
        )

    def _items(self, materials: int) -> list[StockItem]:
        """Items of new materials, not yet saved."""
        first = StockMaterial.objects.count()
        made = StockMaterial.objects.bulk_create(
            (
                StockMaterial(
                    code=f"m-{number:05}",
                    name=f"Material {number}",
                    kind="flat" if number % 25 == 0 else KINDS[number % len(KINDS)],
                    unit_cost_millionths=self.draw.randint(5, 4000) * 10_000,
                    lengths_tenths_mm=list(FLATS_TENTHS) if number % 25 == 0 else [],
                    sort_order=number,
                )
                for number in range(first, first + materials)
            ),
            batch_size=BATCH,
        )
        return [
            StockItem(
                material=material,
                size_tenths_mm=size,
                code=f"{material.code}-{size // 10}" if size else material.code,
                place=f"Drawer {material.sort_order % 80}",
                policy=self.draw.choices(list(POLICIES), list(POLICIES.values()))[0],
                safety=self.draw.randint(1, 5) * _step(material),
            )
            for material in made
            for size in material.lengths_tenths_mm or [0]
        ]

    def _history(self, item: StockItem, count: int) -> Iterator[Act]:
        """Draw so many movements of an item, valued at its moving average; one item in twenty then lies still."""
        draw, step = self.draw, _step(item.material)
        first = draw.randint(0, DAYS // 2)
        last = min(first + 60, DAYS) if draw.random() < 0.05 else DAYS
        days = [
            self.today - timedelta(days=DAYS - place) for place in sorted(draw.choices(range(first, last), k=count))
        ]
        whole: list[Lot] = []
        used, value = 0, 0
        job = f"Q{draw.randint(1, 900)}"
        place = 0
        while place < count:
            day, there = days[place], item.on_hand
            kind = draw.choices(list(ACTS), list(ACTS.values()))[0]
            if kind in (Kind.WASHING, Kind.SPLITTING) and (item.material.kind != "cloth" or place + 2 > count):
                kind = Kind.ISSUE
            if there < 4 * step:
                lot = Lot(item=item, received_on=day, dye_lot=f"K{draw.randint(1, 99)}")
                quantity = draw.randint(10, 60) * step
                whole.append(lot)
                kind, changes = Kind.RECEIPT, [(lot, quantity, quantity // step * draw.randint(20, 900))]
            elif kind == Kind.RETURN and used:
                quantity = draw.randint(1, used)
                back, _ = take([Layer(used, value)], quantity)
                changes = [(whole[0], quantity, back)]
                used, value = 0, 0
            else:
                kind = Kind.ISSUE if kind == Kind.RETURN else kind
                lot = whole[0]
                quantity = min(lot.on_hand, draw.randint(1, 3) * step)
                cost, _ = take([Layer(there + item.in_remnants, item.value_minor)], quantity)
                changes = [(lot, -quantity, -cost)]
                if kind in (Kind.WASHING, Kind.SPLITTING):
                    part = Lot(item=item, received_on=lot.received_on, dye_lot=lot.dye_lot)
                    if kind == Kind.SPLITTING:
                        part.remnant_width_mm, part.remnant_length_mm = item.material.usable_width_mm, quantity
                    else:
                        whole.append(part)
                    changes.append((part, quantity, cost))
                elif kind == Kind.ISSUE:
                    job, used, value = f"Q{draw.randint(1, 900)}", quantity, cost
            for lot, quantity, worth in changes:
                lot.on_hand += quantity
                item.value_minor += worth
                if lot.is_remnant:
                    item.in_remnants += quantity
                else:
                    item.on_hand += quantity
            whole = [lot for lot in whole if lot.on_hand]
            place += len(changes)
            yield Act(day, kind, job if kind in (Kind.ISSUE, Kind.RETURN) else "", changes)

    def _posting(self, act: Act) -> Posting:
        at = datetime.combine(act.day, time(10), UTC)
        return Posting(key=UUID(int=self.draw.getrandbits(128)), fingerprint="", kind=act.kind, job=act.job, at=at)

    def _offers(self, item: StockItem) -> list[Offer]:
        """One to three offers, most of them with a price break."""
        draw = self.draw
        return [
            Offer(
                supplier=supplier,
                item=item,
                pack_thousandths=pack * 1000,
                pack_unit=item.unit.rec20_code,
                minimum_packs=draw.choice([1, 1, 1, 2]),
                breaks=[
                    {"from_packs": start, "price_minor": round(price * pack * share)}
                    for start, share in [(1, 1.0), (5, 0.93), (20, 0.88)][: draw.randint(1, 3)]
                ],
            )
            for supplier in draw.sample(self.suppliers, draw.randint(1, 3))
            for pack in [draw.choice([1, 5, 10])]
            for price in [draw.randint(20, 900)]
        ]

    def _reserve(self, items: Sequence[StockItem], *, is_firm: bool) -> None:
        """Six items for each piece of work, more of each than lies there for every second."""
        first = Reservation.objects.count() + 1001
        work = Reservation.objects.bulk_create(
            Reservation(
                reference=f"Q{first + number}",
                title=f"Piece {number}",
                is_firm=is_firm,
                needed_by=self.today + timedelta(days=self.draw.randint(10, 60)),
                expires_on=None if is_firm else self.today + timedelta(days=14),
            )
            for number in range(-(-len(items) // 6))
        )
        ReservationLine.objects.bulk_create(
            ReservationLine(
                reservation=work[place // 6],
                item=item,
                quantity=self.draw.randint(1, 6) * _step(item.material) + place % 2 * item.on_hand,
                operation="construction",
            )
            for place, item in enumerate(items)
        )

    def _order(self, items: Sequence[StockItem]) -> None:
        """Placed orders of ten lines."""
        orders = PurchaseOrder.objects.bulk_create(
            PurchaseOrder(
                number=number + 1,
                supplier=self.suppliers[number % len(self.suppliers)],
                state=PurchaseOrder.State.PLACED,
                currency=self.suppliers[number % len(self.suppliers)].currency,
                rate_millionths=1_000_000,
                made_on=self.today,
                placed_on=self.today,
                expected_on=self.today + timedelta(days=self.draw.randint(1, 25)),
            )
            for number in range(-(-len(items) // 10))
        )
        PurchaseLine.objects.bulk_create(
            PurchaseLine(
                order=orders[place // 10],
                item=item,
                packs=10,
                pack_thousandths=1000,
                pack_unit=item.unit.rec20_code,
                quantity=10 * _step(item.material),
                price_minor=500,
            )
            for place, item in enumerate(items)
        )


def _step(material: StockMaterial) -> int:
    """A metre or a piece, in base units."""
    return 1000 if material.unit.value == "m" else 1
