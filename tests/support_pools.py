"""A plain model of what lies there and what it is worth, for random acts to be held against, and where such acts are undone.

The definition of each method of valuation (IAS 2 paragraphs 23 to 27), values rounded half up in each movement.
"""

from fractions import Fraction
from math import floor

from django.db import transaction
from hypothesis.stateful import RuleBasedStateMachine

from inventory.reckoning.valuation import Method

__all__ = ["Pool", "RolledBack", "half_up"]


def half_up(value: Fraction) -> int:
    return floor(value + Fraction(1, 2))


class Pool:
    """What lies there of one item: quantity and value by lot, and oldest first for first in, first out."""

    def __init__(self, method: Method) -> None:
        self.method = method
        self.lots: dict[int, list[int]] = {}
        self.layers: list[list[int]] = []

    def put(self, lot: int, quantity: int, value: int, *, first: bool = False) -> None:
        have = self.lots.setdefault(lot, [0, 0])
        have[0], have[1] = have[0] + quantity, have[1] + value
        self.layers.insert(0 if first else len(self.layers), [quantity, value])

    def take(self, lot: int, quantity: int) -> int:
        """What a taking costs; it is gone."""
        cost = 0
        if self.method is Method.FIFO:
            left = quantity
            while left:
                layer = self.layers[0]
                taken = min(left, layer[0])
                part = layer[1] if taken == layer[0] else half_up(Fraction(layer[1] * taken, layer[0]))
                layer[0], layer[1] = layer[0] - taken, layer[1] - part
                cost, left = cost + part, left - taken
                if not layer[0]:
                    self.layers.pop(0)
        else:
            pool = list(self.lots.values()) if self.method is Method.AVERAGE else [self.lots[lot]]
            cost = half_up(Fraction(sum(value for _, value in pool) * quantity, sum(there for there, _ in pool)))
        self.lots[lot][0] -= quantity
        self.lots[lot][1] -= cost
        return cost


class RolledBack(RuleBasedStateMachine):
    """Acts in a transaction that is undone at the end of each run."""

    def __init__(self) -> None:
        super().__init__()
        self.atomic = transaction.atomic()
        self.atomic.__enter__()

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.atomic.__exit__(None, None, None)
