"""Operations, the table of standard minutes, and an estimate. Times in minutes."""

from dataclasses import dataclass, field
from decimal import Decimal

__all__ = ["LabourEstimate", "Operation", "OperationMinutes", "StandardTimes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One row of the table: `setup_min` once per job, and `unit_min` per unit of each driver, by the driver's name.

    `group` is where the time belongs: client, pattern, fitting or making.
    """

    code: str
    name: str
    group: str
    setup_min: float = 0.0
    unit_min: dict[str, float] = field(default_factory=dict)
    why: str = ""
    source: str = "common practice"


@dataclass(frozen=True, slots=True, kw_only=True)
class StandardTimes:
    """The studio's table. `stitches_per_min` is the effective speed from which run times per metre come."""

    operations: tuple[Operation, ...]
    stitches_per_min: float = 350.0
    guiding_factor: float = 1.3
    allowance_share: float = 0.15
    cloth_multipliers: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationMinutes:
    """An operation's time in this piece: `driver` in words, `driver_quantity` its number, `formula` with numbers in."""

    code: str
    name: str
    group: str
    driver: str
    driver_quantity: float
    minutes: float
    formula: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LabourEstimate:
    """Minutes by operation before allowance, and totals with it. `hours` is `total_min` ÷ 60, exact to 6 decimals."""

    operations: tuple[OperationMinutes, ...]
    allowance_share: float
    total_min: float
    low_min: float
    high_min: float
    range_rule: str

    @property
    def hours(self) -> Decimal:
        """The hours that are charged."""
        return (Decimal(repr(round(self.total_min, 6))) / 60).quantize(Decimal("0.000001"))
