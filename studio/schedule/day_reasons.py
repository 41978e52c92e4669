"""What a foretold day rested on, as it is kept with the day."""

from dataclasses import dataclass
from datetime import date

from inventory.ground.codec import Codec

__all__ = ["DAY_REASONS", "DayReasons"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayReasons:
    """What was known when a day was foretold.

    Attributes:
        minutes: what the job still needed, by the plan; nine times in ten no less than `low_minutes`, and no more than
            `high_minutes`.
        before: the jobs that came before it.
        materials_by: when the last of its materials was to come; None where it waited for none.
        not_offered: materials that it lacked and nobody offered.
        minutes_a_week: hours at the table of a week.
        worked_share: how much of them was taken to be worked, in an average week.
        own_weeks: from how many of the workroom's own weeks that was known.
    """

    minutes: int
    low_minutes: int
    high_minutes: int
    before: tuple[str, ...]
    materials_by: date | None
    not_offered: tuple[str, ...]
    minutes_a_week: int
    worked_share: float
    own_weeks: int


DAY_REASONS = Codec(kind=DayReasons, version=1)
