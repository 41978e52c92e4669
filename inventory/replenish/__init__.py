"""What to buy, from whom, as one joint order: exact, with its bound and its reasons."""

from inventory.replenish.plan import make_plan
from inventory.replenish.plan_file import read_problem
from inventory.replenish.plan_json import printed_plan

__all__ = ["make_plan", "printed_plan", "read_problem"]
