"""What to buy, from whom, as one joint order: exact, with its bound and its reasons; now, or as one review of many."""

from inventory.replenish.plan import make_plan
from inventory.replenish.plan_file import PlanFile, read_plan_file
from inventory.replenish.plan_json import printed_plan
from inventory.replenish.review import answered, plan_review

__all__ = ["PlanFile", "answered", "make_plan", "plan_review", "printed_plan", "read_plan_file"]
