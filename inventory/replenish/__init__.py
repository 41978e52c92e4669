"""What to buy, from whom, as one joint order: exact, with its bound and its reasons."""

from inventory.replenish.document import plan_document
from inventory.replenish.plan import make_plan
from inventory.replenish.read import read_problem

__all__ = ["make_plan", "plan_document", "read_problem"]
