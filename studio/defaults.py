"""What bench and books assume: the figures of `studio/defaults.json`, by the same names, where each stands with its source."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

from inventory.ground.sourced import figures

__all__ = ["StudioDefaults", "studio_defaults"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchDefaults:
    """When work at the bench is looked at twice."""

    over_plan_factor: float
    long_timer_minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CuttingDefaults:
    """What the cut list reckons with besides lengths."""

    bone_kerf_mm: float
    rest_share: Decimal
    opening_mm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CalendarDefaults:
    """How long there is to work, Monday first, how long a fitting takes, how jobs share the studio's pace, and how much
    of the planned hours is worked until the workroom's own weeks tell."""

    minutes_by_weekday: tuple[int, ...]
    fitting_minutes: int
    pace_share: float
    worked_week_shares: tuple[float, ...]
    default_weeks_weight: float
    default_halved_weeks: float
    most_lost_weeks: int
    weeks_remembered: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BooksDefaults:
    """From when on a piece's hours are not sure."""

    few_missing_minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class MoneyDefaults:
    """What of money is refused as a slip, and what is asked about."""

    most_paid_factor: int
    long_ago_days: int
    large_fee_share: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class LearningDefaults:
    """When a refused change is proposed again."""

    moved_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepingDefaults:
    """How many copies of the books are kept, how often one is made, and when their age is warned of."""

    copies_kept: int
    hours_between: float
    warn_hours: float
    retry_hours: float
    look_minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineDefaults:
    """What the machine must have, and how its clock may stand to the last entry of the books."""

    least_free_mb: int
    clock_slack_minutes: int
    far_ahead_days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class StudioDefaults:
    """All of them, a section a room."""

    bench: BenchDefaults
    cutting: CuttingDefaults
    calendar: CalendarDefaults
    books: BooksDefaults
    money: MoneyDefaults
    learning: LearningDefaults
    keeping: KeepingDefaults
    machine: MachineDefaults


@cache
def studio_defaults() -> StudioDefaults:
    """Return the figures that are assumed."""
    return figures(Path(__file__).with_name("defaults.json"), StudioDefaults)
