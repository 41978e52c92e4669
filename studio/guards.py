"""What the database itself refuses: changes to what a closed month holds."""

from inventory.triggers import Trigger

__all__ = ["TRIGGERS"]

_FIGURES = (
    "job_id",
    "delivered_on",
    "currency",
    "net_minor",
    "quoted_profit_minor",
    "actual_profit_minor",
    "per_hour_minor",
    "minutes",
    "overhead_minor",
    "style",
    "construction",
    "is_under_floor",
    "document",
    "frozen_at",
)
"""All but the client's name, which can be erased."""

TRIGGERS = (
    Trigger(
        name="account_of_closed_month_never_changes",
        table="studio_pieceaccount",
        event="UPDATE",
        when="OLD.frozen_at IS NOT NULL AND ("
        + " OR ".join(f"NEW.{column} IS DISTINCT FROM OLD.{column}" for column in _FIGURES)
        + ")",
        message="An account of a closed month never changes.",
    ),
    Trigger(
        name="account_of_closed_month_is_kept",
        table="studio_pieceaccount",
        event="DELETE",
        when="OLD.frozen_at IS NOT NULL",
        message="An account of a closed month is kept.",
    ),
    Trigger(
        name="closed_month_is_not_opened",
        table="studio_closedmonth",
        event="DELETE",
        when="TRUE",
        message="A closed month is not opened again.",
    ),
)
