"""Proof that the books are what the ledger says: everything is worked out again from the movements and compared."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from django.db.models import F, Sum

from inventory.ground.materials import BONES
from inventory.ground.site.triggers import missing_guards
from inventory.models import Lot, Movement, Posting, PurchaseLine, PurchaseOrder, ReservationLine, StockItem
from inventory.reckoning.price_known import Step, Way, replayed
from inventory.reckoning.valuation import Layer, Method, Moved, moved_on, take
from inventory.shelf.settings import shelf
from inventory.stock.valuing import ALL_OF_IT, TRANSFERS, history_of, holder_of, kin_of, parts_of, way_of

__all__ = ["Audit", "Difference", "also", "audit"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One figure of the books that is not what the ledger gives."""

    table: str
    row: str
    expected: str
    found: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Audit:
    """What was checked, how many rows of it, and every difference."""

    checked: Mapping[str, int]
    differences: tuple[Difference, ...]


_MORE: list[Callable[[], Audit]] = []


def also(check: Callable[[], Audit]) -> None:
    """Let a higher floor prove its own books with the ledger's."""
    if check not in _MORE:
        _MORE.append(check)


def audit() -> Audit:
    """Return how the books compare with the ledger, and with one another where higher floors keep some."""
    more = [check() for check in _MORE]
    return Audit(
        checked={
            "postings": Posting.objects.count(),
            "movements": Movement.objects.count(),
            "items": StockItem.objects.count(),
            "lots": Lot.objects.count(),
            "purchase lines": PurchaseLine.objects.count(),
            "reservation lines": ReservationLine.objects.count(),
            **{name: count for audited in more for name, count in audited.checked.items()},
        },
        differences=(
            *(*_guards(), *_movements(), *_corrected(), *_received(), *_borne(), *_cancelled(), *_issued()),
            *(difference for audited in more for difference in audited.differences),
        ),
    )


def _guards() -> Iterator[Difference]:
    """Triggers that the database lacks: without them it lets kept rows be changed."""
    for trigger in missing_guards():
        yield _difference(trigger.table, f"guard {trigger.name}", "in place", "missing")


def _movements() -> Iterator[Difference]:
    """Balances, running balances, transfers and the cost of every movement out."""
    method = Method(shelf().method)
    remnants = set(Lot.objects.filter(remnant_width_mm__isnull=False).values_list("pk", flat=True))
    by_lot: dict[int, int] = defaultdict(int)
    lot_value: dict[int, int] = defaultdict(int)
    whole: dict[int, int] = defaultdict(int)
    in_remnants: dict[int, int] = defaultdict(int)
    value: dict[int, int] = defaultdict(int)
    transfers: dict[int, int] = defaultdict(int)
    fifo, parts = _Layers(), parts_of()
    movements = Movement.objects.order_by("id").values_list(
        *("id", "posting_id", "posting__kind", "posting__job", "posting__purpose"),
        *("item_id", "lot_id", "quantity", "value_minor"),
    )
    for pk, posting, kind, job, purpose, item, lot, quantity, worth in movements.iterator(chunk_size=5000):
        if quantity < 0:
            layers: Sequence[Layer] = fifo.left[item]
            if method is Method.AVERAGE:
                layers = [Layer(whole[item] + in_remnants[item], value[item])]
            elif method is Method.LOT:
                layers = [Layer(by_lot[lot], lot_value[lot])]
            try:
                cost, _ = take(layers, -quantity)
            except ValueError as error:
                yield _difference("inventory_movement", pk, "stock to take from", str(error))
                continue
            if cost != -worth:
                yield _difference("inventory_movement", pk, f"value {-cost}", f"value {worth}")
        by_lot[lot] += quantity
        lot_value[lot] += worth
        (in_remnants if lot in remnants else whole)[item] += quantity
        value[item] += worth
        if method is Method.FIFO:
            if quantity:
                step = Step(
                    way=way_of(kind, quantity),
                    act=posting,
                    item=item,
                    lot=lot,
                    holder=holder_of(kind, job, purpose),
                    quantity=quantity,
                    value=worth,
                    part=parts.get(pk, ALL_OF_IT),
                )
                fifo.move(step)
            elif kind == Posting.Kind.CORRECTION:
                fifo.correct(item, lot, worth)
        if kind in TRANSFERS:
            transfers[posting] += worth
        if by_lot[lot] < 0:
            yield _difference("inventory_movement", pk, "a lot of zero or more", f"{by_lot[lot]}")
    for posting, rest in transfers.items():
        if rest:
            yield _difference("inventory_posting", posting, "value that stays", f"{rest:+d}")
    for pk, on_hand in Lot.objects.values_list("pk", "on_hand").iterator():
        if on_hand != by_lot[pk]:
            yield _difference("inventory_lot", pk, f"on hand {by_lot[pk]}", f"{on_hand}")
    items = StockItem.objects.values_list("pk", "code", "on_hand", "in_remnants", "value_minor")
    for pk, code, *balances in items.iterator():
        expected = [whole[pk], in_remnants[pk], value[pk]]
        names = ("on hand", "in remnants", "value")
        for name, should, is_now in zip(names, expected, balances, strict=True):
            if should != is_now:
                yield _difference("inventory_stockitem", code, f"{name} {should}", f"{is_now}")


class _Layers:
    """What is left of each item's layers, first in, first out, on the way through the movements."""

    def __init__(self) -> None:
        self.left: dict[int, tuple[Layer, ...]] = defaultdict(tuple)
        self._first_of_kin = _first_of_kin()
        self._steps: dict[int, list[Step]] = defaultdict(list)
        self._more: dict[int, dict[int, int]] = defaultdict(lambda: defaultdict(int))

    def move(self, step: Step) -> None:
        self._steps[self._first_of_kin.get(step.item, step.item)].append(step)
        moved = Moved(step.quantity, step.value, step.way is Way.TRANSFER)
        self.left[step.item] = moved_on(self.left[step.item], moved)

    def correct(self, item: int, lot: int, value: int) -> None:
        first = self._first_of_kin.get(item, item)
        self._more[first][lot] += value
        self.left |= replayed(self._steps[first], self._more[first], Method.FIFO).layers


def _first_of_kin() -> dict[int, int]:
    """By item of which something was cut into another item, or that was cut so, the least number of its kin."""
    first: dict[int, int] = {}
    cut = Movement.objects.filter(posting__kind=Posting.Kind.SPLITTING, item__material__kind__in=BONES)
    for item in cut.order_by("item").values_list("item", flat=True).distinct():
        if item not in first:
            first |= dict.fromkeys(kin_of([item]), item)
    return first


def _corrected() -> Iterator[Difference]:
    """What corrections of costs made of each act, against the same history with those costs known from the start."""
    method = Method(shelf().method)
    corrected = Movement.objects.filter(posting__kind=Posting.Kind.CORRECTION)
    looked_at: set[int] = set()
    for item in corrected.order_by("item").values_list("item", flat=True).distinct():
        if item in looked_at:
            continue
        kin = kin_of([item])
        looked_at |= kin
        steps, more = history_of(kin)
        acts = list(
            Movement.objects.filter(item__in=kin)
            .order_by("id")
            .values_list(
                *("id", "item", "lot", "value_minor"),
                *("posting__kind", "posting__job", "posting__purpose", "posting__cause"),
            )
        )
        expected: dict[tuple[str, ...], int] = defaultdict(int)
        found: dict[tuple[str, ...], int] = defaultdict(int)
        try:
            values = dict(zip(steps, replayed(steps.values(), more, method).values, strict=True))
        except ValueError as error:
            yield _difference("inventory_stockitem", item, "a history that holds", str(error))
            continue
        for pk, of, lot, value, kind, *whose in acts:
            key = (f"{of}, lot {lot}", "receipt" if kind == Posting.Kind.CORRECTION else kind, *whose)
            expected[key] += values.get(pk, 0)
            found[key] += value
        for key, value in expected.items():
            if found[key] != value:
                yield _difference("inventory_stockitem", ", ".join(key), f"{value}", f"{found[key]}")


def _received() -> Iterator[Difference]:
    """What order lines count as received, against the receipts of their lots."""
    came = dict(
        Movement.objects.filter(posting__kind=Posting.Kind.RECEIPT, lot__purchase_line__isnull=False)
        .values_list("lot__purchase_line")
        .annotate(total=Sum("quantity"))
    )
    for pk, received in PurchaseLine.objects.values_list("pk", "received"):
        if received != came.get(pk, 0):
            yield _difference("inventory_purchaseline", pk, f"received {came.get(pk, 0)}", f"{received}")


def _borne() -> Iterator[Difference]:
    """Freight and duty of orders of which nothing more is expected, against what their lots bear of it."""
    orders = PurchaseOrder.objects.filter(state=PurchaseOrder.State.RECEIVED)
    borne = Sum("lines__lots__charges_minor")
    for number, charged, by_lots in orders.values_list("number", "charged_minor", borne):
        if charged != (by_lots or 0):
            yield _difference("inventory_purchaseorder", number, f"charges of {charged} borne", f"{by_lots}")


def _cancelled() -> Iterator[Difference]:
    """Cancelled orders of which something came."""
    for pk, received in PurchaseLine.objects.filter(order__state="cancelled", received__gt=0).values_list(
        "pk", "received"
    ):
        yield _difference("inventory_purchaseline", pk, "received 0, as the order was cancelled", f"{received}")


def _issued() -> Iterator[Difference]:
    """What reservations count as issued, against what their jobs took and gave back of the item."""
    used = {
        (job, item): -total
        for job, item, total in Movement.objects.filter(
            posting__kind__in=[Posting.Kind.ISSUE, Posting.Kind.RETURN], posting__job__gt=""
        )
        .values_list("posting__job", "item")
        .annotate(total=Sum("quantity"))
    }
    counted = (
        ReservationLine.objects.filter(issued__gt=0)
        .values_list("reservation__reference", "item")
        .annotate(total=Sum(F("issued")))
    )
    for job, item, total in counted:
        if total > used.get((job, item), 0):
            yield _difference(
                "inventory_reservationline", f"{job}, item {item}", f"{used.get((job, item), 0)}", f"{total}"
            )


def _difference(table: str, row: object, expected: str, found: str) -> Difference:
    return Difference(table=table, row=str(row), expected=expected, found=found)
