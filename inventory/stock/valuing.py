"""What lots hold and what is taken of them costs, as the books stand at this moment."""

from collections.abc import Sequence

from django.db.models import Sum

from inventory.ground.findings import refuse
from inventory.ground.measures import quantity_text
from inventory.models import Lot, Movement, Posting, StockItem
from inventory.reckoning.price_known import Step, Way, replayed
from inventory.reckoning.valuation import Layer, Method, Moved, layers_after, take

__all__ = ["TRANSFERS", "cost_of", "history_of", "holder_of", "lot_now", "must_hold", "way_of"]

Kind = Posting.Kind
TRANSFERS = (Kind.WASHING, Kind.SPLITTING)


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


def history_of(item: int) -> tuple[dict[int, Step], dict[int, int]]:
    """Return an item's movements by their numbers, in their order, and by lot what corrections added to its receipt."""
    steps: dict[int, Step] = {}
    more: dict[int, int] = {}
    movements = Movement.objects.filter(item_id=item).order_by("id")
    for pk, posting, kind, job, purpose, lot, quantity, value in movements.values_list(
        *("id", "posting", "posting__kind", "posting__job", "posting__purpose", "lot", "quantity", "value_minor")
    ):
        if quantity:
            steps[pk] = Step(
                way=way_of(kind, quantity),
                act=posting,
                lot=lot,
                holder=holder_of(kind, job, purpose),
                quantity=quantity,
                value=value,
            )
        elif kind == Kind.CORRECTION:
            more[lot] = more.get(lot, 0) + value
    return steps, more


def holder_of(kind: str, job: str, purpose: str) -> str:
    """Return who holds what such an act takes: only what was issued can come back."""
    return f"{job}/{purpose}" if kind in (Kind.ISSUE, Kind.RETURN) else ""


def _layers(item: int) -> Sequence[Layer]:
    """What is left of an item's layers, at what their receipts came to cost."""
    steps, more = history_of(item)
    if more:
        return replayed(steps.values(), more, Method.FIFO).layers
    return layers_after(Moved(step.quantity, step.value, step.way is Way.TRANSFER) for step in steps.values())
