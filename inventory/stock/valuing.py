"""What lots hold and what is taken of them costs, as the books stand at this moment."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence

from django.db.models import Sum

from inventory.ground.findings import refuse
from inventory.ground.materials import BONES
from inventory.ground.measures import quantity_text
from inventory.models import Lot, Movement, Posting, StockItem
from inventory.reckoning.price_known import Step, Way, replayed
from inventory.reckoning.valuation import Layer, Method, Moved, layers_after, take

__all__ = [
    "ALL_OF_IT",
    "TRANSFERS",
    "cost_of",
    "history_of",
    "holder_of",
    "kin_of",
    "lot_now",
    "must_hold",
    "parts_of",
    "way_of",
]

Kind = Posting.Kind
TRANSFERS = (Kind.WASHING, Kind.SPLITTING)
ALL_OF_IT = (1, 1)
"""The `Step.part` of what takes all that its act carries."""


def lot_now(lot: Lot) -> Lot:
    """Return the lot as it is now, under the lock of its item."""
    return Lot.objects.select_related("item__material").get(pk=lot.pk)


def must_hold(lot: Lot, quantity: int) -> None:
    """Raise Refused where a lot does not hold so many base units, or where they are none."""
    if quantity <= 0:
        raise refuse("ledger.nothing", str(lot), "Nothing would be taken.", "Say how much.")
    if quantity > lot.on_hand:
        raise refuse(
            "ledger.not-enough",
            str(lot),
            f"It holds {quantity_text(lot.on_hand, lot.item.unit)}, not {quantity_text(quantity, lot.item.unit)}.",
            "Take less, or from another lot.",
        )


def cost_of(method: Method, lot: Lot, quantity: int) -> int:
    """Return what `quantity` of a lot costs by the studio's method, in minor units. Raises Refused where less is there."""
    must_hold(lot, quantity)
    if method is Method.AVERAGE:
        item = StockItem.objects.get(pk=lot.item_id)
        layers: Sequence[Layer] = [Layer(item.there, item.value_minor)]
    elif method is Method.LOT:
        worth = Movement.objects.filter(lot=lot).aggregate(value=Sum("value_minor"))["value"] or 0
        layers = [Layer(lot.on_hand, worth)]
    else:
        layers = _layers(lot.item_id)
    cost, _ = take(layers, quantity)
    return cost


def way_of(kind: str, quantity: int) -> Way:
    """Return how a movement of that kind and direction comes by its value."""
    if kind in TRANSFERS:
        return Way.TRANSFER
    if quantity < 0:
        return Way.TAKEN
    return {Kind.RECEIPT: Way.RECEIPT, Kind.RETURN: Way.RETURN}.get(Kind(kind), Way.FOUND)


def kin_of(items: Iterable[int]) -> set[int]:
    """Return items with all that something of them was made into, or that they were made from, however far."""
    kin, new = set[int](), set(items)
    while new:
        kin |= new
        acts = Movement.objects.filter(item__in=new, posting__kind__in=TRANSFERS).values("posting")
        new = set(Movement.objects.filter(posting__in=acts).values_list("item", flat=True).distinct()) - kin
    return kin


def history_of(items: Collection[int]) -> tuple[dict[int, Step], dict[int, int]]:
    """Return the movements of items by their numbers, in their order, and by lot what corrections added to its receipt.

    Args:
        items: with their kin, where values are to be walked again.
    """
    steps: dict[int, Step] = {}
    more: dict[int, int] = {}
    movements = Movement.objects.filter(item__in=items).order_by("id")
    parts = parts_of(items)
    for pk, posting, kind, job, purpose, item, lot, quantity, value in movements.values_list(
        *("id", "posting", "posting__kind", "posting__job", "posting__purpose", "item", "lot"),
        *("quantity", "value_minor"),
    ):
        if quantity:
            steps[pk] = Step(
                way=way_of(kind, quantity),
                act=posting,
                item=item,
                lot=lot,
                holder=holder_of(kind, job, purpose),
                quantity=quantity,
                value=value,
                part=parts.get(pk, ALL_OF_IT),
            )
        elif kind == Kind.CORRECTION:
            more[lot] = more.get(lot, 0) + value
    return steps, more


def parts_of(items: Collection[int] | None = None) -> dict[int, tuple[int, int]]:
    """Return by movement what of an act's value it takes (`Step.part`), for what was cut from something: by its length.

    Left out is what takes all of it, as all do that come in no length.
    """
    came = Movement.objects.filter(
        posting__kind=Kind.SPLITTING, quantity__gt=0, item__size_tenths_mm__gt=0, item__material__kind__in=BONES
    )
    if items is not None:
        came = came.filter(item__in=items)
    by_act: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for pk, act, quantity, size in came.order_by("id").values_list("id", "posting", "quantity", "item__size_tenths_mm"):
        by_act[act].append((pk, quantity * size))
    parts = {}
    for made in by_act.values():
        left = sum(weight for _, weight in made)
        for pk, weight in made:
            parts[pk] = (weight, left)
            left -= weight
    return parts


def holder_of(kind: str, job: str, purpose: str) -> str:
    """Return who holds what such an act takes: only what was issued can come back."""
    return f"{job}/{purpose}" if kind in (Kind.ISSUE, Kind.RETURN) else ""


def _layers(item: int) -> Sequence[Layer]:
    """What is left of an item's layers, at what their receipts came to cost."""
    steps, more = history_of(kin_of([item]))
    if more:
        return replayed(steps.values(), more, Method.FIFO).layers.get(item, ())
    own = (step for step in steps.values() if step.item == item)
    return layers_after(Moved(step.quantity, step.value, step.way is Way.TRANSFER) for step in own)
