"""How old a kept plan is: one that was made before the last review is planned anew before it is used."""

from datetime import date

from django.utils import timezone

from inventory.models import KeptPlan
from inventory.use.expected_use import review_days

__all__ = ["plan_age_words"]


def plan_age_words(kept: KeptPlan | None, *, on: date) -> str:
    """Return that a plan is older than the time from one review to the next; empty for one that is not, or was used."""
    if kept is None or kept.ordered_at is not None:
        return ""
    days = (on - timezone.localdate(kept.made_at)).days
    if days <= review_days(on=on):
        return ""
    return f"Planned {days} days ago; plan anew before you order."
