"""What the history of items would have come to, had the cost of their receipts been known from the start.

A receipt whose cost turns out to be another later on is never changed. The history is walked again with the right cost, and
the difference of each movement is what has to be posted: what is left takes its part, what was used takes the rest, and
all of them add up to what the receipt cost more.

Source: IAS 2 Inventories, paragraphs 10, 11 and 23 to 27: cost is what was paid in the end, and the same formula holds for
all of an item's stock.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from inventory.ground.money import nearest
from inventory.reckoning.valuation import Layer, Method, Moved, moved_on, take

__all__ = ["Replay", "Step", "Way", "replayed"]


class Way(StrEnum):
    """How a movement comes by its value."""

    RECEIPT = "receipt"
    TAKEN = "taken"
    RETURN = "return"
    TRANSFER = "transfer"
    FOUND = "found"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One movement of an item as it was posted.

    Attributes:
        act: number of its posting; the two sides of a transfer share it.
        item: number of its item; the two sides of a transfer may be of different ones.
        lot: number of its lot.
        holder: who took it or gives it back, a job or a purpose; empty for nobody.
        quantity: signed base units, never 0.
        value: signed minor units.
        part: of what comes by a transfer, its weight in what its act carried and the weight of all that was still to
            come then, itself too.
    """

    way: Way
    act: int
    lot: int
    holder: str
    quantity: int
    value: int
    item: int = 0
    part: tuple[int, int] = (1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Replay:
    """The values of all steps, signed minor units, and by item the layers that are left, oldest first."""

    values: tuple[int, ...]
    layers: Mapping[int, tuple[Layer, ...]]


def replayed(steps: Iterable[Step], more: Mapping[int, int], method: Method) -> Replay:
    """Walk a history again, with so much more paid for the receipts of some lots.

    Args:
        steps: all movements of an item, and of all items that are made from it or it from them, in the order in which
            they were posted.
        more: by lot, minor units that its receipt cost beyond what was posted then; below zero for a credit.

    What came back comes back at what its holder had it for; what a count found comes in at the average, and at the price
    that was posted where nothing was left.

    >>> bought = Step(way=Way.RECEIPT, act=1, lot=1, holder="", quantity=10, value=100)
    >>> used = Step(way=Way.TAKEN, act=2, lot=1, holder="Q1", quantity=-4, value=-40)
    >>> replayed([bought, used], {1: 25}, Method.AVERAGE).values
    (125, -50)

    Raises:
        ValueError: more is taken than there is, or a receipt would cost less than nothing.
    """
    to_bear, carried = dict(more), dict[int, int]()
    walks: dict[int, _Walk] = defaultdict(lambda: _Walk(method, to_bear, carried))
    values = tuple(walks[step.item].through(step) for step in steps)
    return Replay(values=values, layers={item: walk.layers for item, walk in walks.items()})


class _Walk:
    """Balances of an item on the way through a history; what lots have to bear and acts carry is shared by all items."""

    def __init__(self, method: Method, more: dict[int, int], carried: dict[int, int]) -> None:
        self.method, self.more, self.carried = method, more, carried
        self.layers: tuple[Layer, ...] = ()
        self.whole = Layer(0, 0)
        self.lots: dict[int, Layer] = {}
        self.held: dict[str, Layer] = {}

    def through(self, step: Step) -> int:
        value = -self._taken(step) if step.quantity < 0 else self._came(step)
        self.whole = _with(self.whole, step.quantity, value)
        self.lots[step.lot] = _with(self.lots.get(step.lot), step.quantity, value)
        if self.method is Method.FIFO:
            self.layers = moved_on(self.layers, Moved(step.quantity, value, step.way is Way.TRANSFER))
        if step.way is Way.TRANSFER:
            self.carried[step.act] = self.carried.get(step.act, 0) - value
        if step.holder and step.way in (Way.TAKEN, Way.RETURN):
            self.held[step.holder] = _with(self.held.get(step.holder), -step.quantity, -value)
        return value

    def _taken(self, step: Step) -> int:
        layers: Sequence[Layer] = self.layers
        if self.method is Method.AVERAGE:
            layers = [self.whole]
        elif self.method is Method.LOT:
            layers = [self.lots.get(step.lot, Layer(0, 0))]
        return take(layers, -step.quantity)[0]

    def _came(self, step: Step) -> int:
        if step.way is Way.RECEIPT:
            value = step.value + self.more.pop(step.lot, 0)
            if value < 0:
                raise ValueError(f"The receipt of lot {step.lot} would cost {value}.")
            return value
        if step.way is Way.TRANSFER:
            weight, of = step.part
            return take([Layer(of, self.carried[step.act])], weight)[0]
        if step.way is Way.RETURN:
            return take([self.held.get(step.holder, Layer(0, 0))], step.quantity)[0]
        return nearest(self.whole.value * step.quantity, self.whole.quantity) if self.whole.quantity else step.value


def _with(layer: Layer | None, quantity: int, value: int) -> Layer:
    before = layer or Layer(0, 0)
    return Layer(before.quantity + quantity, before.value + value)
