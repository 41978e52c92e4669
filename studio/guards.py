"""What the database itself refuses: changes to closed months, payments, credits, logged time, diaries, foretold days."""

from inventory.ground.site.triggers import Trigger, any_changed, append_only

__all__ = ["TRIGGERS"]

_FIGURES = (
    "job_id",
    "delivered_on",
    "currency",
    "net_minor",
    "quoted_profit_minor",
    "actual_profit_minor",
    "labour_minor",
    "per_hour_minor",
    "minutes",
    "overhead_minor",
    "style",
    "construction",
    "is_under_floor",
    "is_unsure",
    "document",
)
"""All but the client's name, which can be erased, and the moment of closing."""

_LATER_OR_SAME = "substr(CAST(first_day AS TEXT), 1, 7) >= substr(CAST(OLD.delivered_on AS TEXT), 1, 7)"
_ITS_MONTH_IS_CLOSED = f"EXISTS (SELECT 1 FROM studio_closedmonth WHERE {_LATER_OR_SAME})"
_LATER_IS_CLOSED = "EXISTS (SELECT 1 FROM studio_closedmonth AS later WHERE later.first_day > OLD.first_day)"
_OPENED_FOR_A_REASON = (
    "EXISTS (SELECT 1 FROM studio_reopenedmonth AS opened "
    "WHERE opened.first_day = OLD.first_day AND opened.closed_at = OLD.closed_at)"
)

_STARTED = ("id", "operation_id", "by_id", "started_at", "cause", "key", "replaces_id", "why", "written_at")
"""What stands of a timer once it runs; stopping it, once, adds the rest."""

TRIGGERS = (
    *append_only("studio_payment", "payment", "A payment is never changed; note another that puts it right."),
    *append_only("studio_credit", "credit", "A lower price is never changed; note another that takes it back."),
    *append_only("studio_jobnote", "job_note", "A line of a diary is never changed."),
    *append_only(
        "studio_promisedday", "promised_day", "A day that was foretold is never changed; later ones are added."
    ),
    *append_only(
        "studio_timeentry",
        "time_entry",
        "Logged time is never changed; write another entry in its place.",
        update_when=f"OLD.ended_at IS NOT NULL OR NEW.ended_at IS NULL OR {any_changed(_STARTED)}",
    ),
    *append_only(
        "studio_alsoworked",
        "also_worked",
        "What was worked in a sitting is never changed; correct its entry.",
    ),
    Trigger(
        name="account_of_closed_month_never_changes",
        table="studio_pieceaccount",
        event="UPDATE",
        when=f"OLD.frozen_at IS NOT NULL AND ({any_changed(_FIGURES)})",
        message="An account of a closed month never changes.",
    ),
    Trigger(
        name="account_is_opened_with_its_month",
        table="studio_pieceaccount",
        event="UPDATE",
        when="OLD.frozen_at IS NOT NULL AND NEW.frozen_at IS DISTINCT FROM OLD.frozen_at "
        f"AND (NEW.frozen_at IS NOT NULL OR {_ITS_MONTH_IS_CLOSED})",
        message="An account of a closed month is opened with its month only.",
    ),
    Trigger(
        name="account_of_closed_month_is_kept",
        table="studio_pieceaccount",
        event="DELETE",
        when="OLD.frozen_at IS NOT NULL",
        message="An account of a closed month is kept.",
    ),
    Trigger(
        name="closed_month_is_opened_last_first",
        table="studio_closedmonth",
        event="DELETE",
        when=f"{_LATER_IS_CLOSED} OR NOT {_OPENED_FOR_A_REASON}",
        message="A closed month is opened again after all later ones, and for a reason.",
    ),
    Trigger(
        name="closed_month_never_changes",
        table="studio_closedmonth",
        event="UPDATE",
        when="TRUE",
        message="The row of a closed month never changes.",
    ),
    *append_only("studio_reopenedmonth", "reopened_month", "That a closed month was opened again stays written."),
)
