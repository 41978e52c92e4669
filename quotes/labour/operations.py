"""Operations, the table of standard minutes, and an estimate. Times in minutes."""

from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

__all__ = ["GROUPS", "LabourEstimate", "LearntRange", "Operation", "OperationMinutes", "OperationRole", "StandardTimes"]

GROUPS = ("client", "pattern", "fitting", "making")
"""Where time belongs."""


class OperationRole(StrEnum):
    """What an operation is to the bench and the calendar: the rules of the trade ask for the role, never for a code."""

    NONE = ""
    FITTING = "fitting"
    CUTTING = "cutting"
    FIRST_PASS = "first-pass"
    LATER_PASSES = "later-passes"
    WAIST_TAPE = "waist-tape"
    CHANNELS = "channels"
    GROMMETS = "grommets"
    BINDING = "binding"
    HAND_OVER = "hand-over"
    CLOSING = "closing"

    @property
    def words(self) -> str:
        """What it takes part as, as people say it."""
        return "hand-over" if self is OperationRole.HAND_OVER else self.value.replace("-", " ") or "nothing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One row of the table.

    Attributes:
        setup_min: once, where there is any of its drivers.
        unit_min: minutes per unit of each driver, by the driver's name.
        stitches: a driver of machine stitches, timed by the machine's speed; empty for none.
        handling_of: "cutting" or "sewing" where difficult cloth makes it slower; empty where it does not.
        pace: what this workroom takes of these minutes, learnt from logged time; 1 for as they stand. `pace_why` says
            from what.
        since: the moment at which the maker last set these minutes by hand, ISO 8601; empty for never. Time logged for
            quotes that were sealed before says nothing of them.
        role: what it is to the bench and the calendar.
    """

    code: str
    name: str
    group: str
    setup_min: float = 0.0
    unit_min: dict[str, float] = field(default_factory=dict)
    stitches: str = ""
    handling_of: str = ""
    why: str = ""
    pace: float = 1.0
    pace_why: str = ""
    since: str = ""
    role: OperationRole = OperationRole.NONE


@dataclass(frozen=True, slots=True, kw_only=True)
class LearntRange:
    """What low and high of a piece's total are of likely, low <= 1 <= high; `rule` says from what that was learnt.

    `common_share` is the part of its variance that the next pieces have in common; None where an earlier version kept it.
    """

    low: float
    high: float
    rule: str
    common_share: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardTimes:
    """The studio's table.

    Attributes:
        stitches_per_min: effective speed on curved heavy seams.
        guiding_factor: channel, welt and grommet lines run this much slower.
        allowance_share: personal needs and fatigue, a share of the time worked (factor 1 + A).
        multipliers: per handling of a cloth, factors for "cutting" and "sewing".
        learnt_range: of the whole piece; None before anything was learnt, when that of workrooms at large holds.
    """

    operations: tuple[Operation, ...]
    stitches_per_min: float
    guiding_factor: float
    allowance_share: float
    multipliers: dict[str, dict[str, float]] = field(default_factory=dict)
    source: str = ""
    learnt_range: LearntRange | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationMinutes:
    """An operation's time in this piece: its first driver in words with its number, and the formula with numbers in."""

    code: str
    name: str
    group: str
    driver: str
    driver_quantity: float
    minutes: float
    formula: str
    role: OperationRole = OperationRole.NONE


@dataclass(frozen=True, slots=True, kw_only=True)
class LabourEstimate:
    """Minutes by operation before allowance, and totals with it."""

    operations: tuple[OperationMinutes, ...]
    allowance_share: float
    total_min: float
    low_min: float
    high_min: float
    range_rule: str

    @property
    def hours(self) -> Decimal:
        """The hours that are charged, to a millionth."""
        return (Decimal(repr(round(self.total_min, 6))) / 60).quantize(Decimal("0.000001"))
