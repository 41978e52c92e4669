"""A plan as it is kept: what is printed, and beside it what a page says more and what orders are made from."""

from collections.abc import Mapping
from dataclasses import dataclass

from inventory.ground.codec import Codec, Document
from inventory.replenish.explain import ToppedUp
from inventory.replenish.plan_json import PrintedLine, PrintedOrder, PrintedReview
from inventory.replenish.problem import NextOrder, Waiting

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
class ExplainedPlan(PrintedReview):
    """A review with where its expectations come from, by material, what may wait, and the orders likely to follow."""

    orders: tuple[ExplainedOrder, ...]
    rules: Mapping[str, str]
    next_orders: tuple[NextOrder, ...]
    waiting: tuple[Waiting, ...]


def _of_one_day(document: Document) -> Document:
    """A plan of the first version looked at no later review: it names none but its own day, and no reserves."""
    bare = {key: value for key, value in document.items() if key != "expectations"}
    rules = {code: told["rule"] for code, told in document["expectations"].items()}
    return {**bare, "next_review": document["as_of"], "expected": [], "next_orders": [], "waiting": [], "rules": rules}


EXPLAINED_PLAN = Codec(kind=ExplainedPlan, version=2, upgrades={1: _of_one_day})
