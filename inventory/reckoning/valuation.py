"""What stock is worth, and what is taken from it: moving weighted average, first in first out, or the lot's own cost.

Words: a *layer* is a quantity with what it cost, oldest first. Quantities are whole base units, values whole minor units
of money, so that sums are exact. An average is value ÷ quantity and is never stored; the last piece out takes what value
remains, so that nothing is left over or lost by rounding.

Source: IAS 2 Inventories, paragraphs 23 to 27 (specific identification; first in, first out; weighted average).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from inventory.ground.money import nearest

__all__ = ["Layer", "Method", "Moved", "layers_after", "moved_on", "take"]


class Method(StrEnum):
    """How the cost of what is taken is told. The same for all of a studio's stock."""

    AVERAGE = "average"
    FIFO = "fifo"
    LOT = "lot"


@dataclass(frozen=True, slots=True)
class Layer:
    """A quantity >= 0 and its value >= 0."""

    quantity: int
    value: int


@dataclass(frozen=True, slots=True)
class Moved:
    """One movement: signed quantity and value; `is_transfer` where stock only changed its lot or state."""

    quantity: int
    value: int
    is_transfer: bool = False


def take(layers: Sequence[Layer], quantity: int) -> tuple[int, tuple[Layer, ...]]:
    """Take `quantity` from the oldest layers; return its cost and what remains.

    A part of a layer costs its share of the layer's value, half up; the whole of it costs all that it has.

    >>> take([Layer(3, 100)], 1), take([Layer(2, 67)], 2)
    ((33, (Layer(quantity=2, value=67),)), (67, ()))

    Raises:
        ValueError: less than nothing is asked for, or more than there is.
    """
    if quantity < 0:
        raise ValueError(f"A quantity of {quantity} cannot be taken.")
    cost, rest = 0, list(layers)
    while quantity:
        if not rest:
            raise ValueError(f"There are {quantity} too few.")
        oldest = rest.pop(0)
        taken = min(quantity, oldest.quantity)
        quantity -= taken
        if taken == oldest.quantity:
            cost += oldest.value
            continue
        part = nearest(oldest.value * taken, oldest.quantity)
        cost += part
        rest.insert(0, Layer(oldest.quantity - taken, oldest.value - part))
    return cost, tuple(rest)


def moved_on(layers: Sequence[Layer], moved: Moved) -> tuple[Layer, ...]:
    """Return the layers after one more movement, first in, first out.

    What comes in by a transfer (washed, split off) is as old as what it was made from and lies first again.
    """
    if moved.quantity < 0:
        return take(layers, -moved.quantity)[1]
    came = Layer(moved.quantity, moved.value)
    return (came, *layers) if moved.is_transfer else (*layers, came)


def layers_after(history: Iterable[Moved]) -> tuple[Layer, ...]:
    """Return the layers that are left after a history, first in, first out."""
    layers: tuple[Layer, ...] = ()
    for moved in history:
        layers = moved_on(layers, moved)
    return layers
