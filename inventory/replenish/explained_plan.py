"""A plan as it is kept: what is printed, and beside it what a page says more and what orders are made from."""

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.ground.codec import Codec
from inventory.replenish.explain import ToppedUp
from inventory.replenish.forecast import Expectation
from inventory.replenish.plan_json import PrintedLine, PrintedOrder, PrintedPlan

__all__ = ["EXPLAINED_PLAN", "ExplainedLine", "ExplainedOrder", "ExplainedPlan"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ExplainedLine(PrintedLine):
    """A line with the key of its offer, its pack in words and the jobs that would wait without it."""

    offer: int
    pack: str
    waiting: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ExplainedOrder(PrintedOrder):
    """An order with what topping it up costs and brings; None where it is not topped up, or that was not told in time."""

    lines: tuple[ExplainedLine, ...]
    topping_up: ToppedUp | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ExplainedPlan(PrintedPlan):
    """A plan with what was expected of the items that are kept in stock, by their code."""

    orders: tuple[ExplainedOrder, ...]
    expectations: Mapping[str, Expectation]


EXPLAINED_PLAN = Codec(kind=ExplainedPlan, version=1)
