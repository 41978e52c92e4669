"""What learning assumes, read once from `assumptions.json`, where each figure stands with its source."""

from dataclasses import dataclass
from functools import cache

from inventory.ground.codec import Document
from inventory.ground.reading import data_beside

__all__ = ["Beliefs", "Judging", "judging", "material_beliefs"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Beliefs:
    """What is believed before anything was used: spreads as standard deviations of natural logarithms.

    Attributes:
        trend_sd: per year.
        job_weight, entry_weight: jobs and entries that the spread before them is worth.
    """

    studio_sd: float
    kind_sd: float
    trend_sd: float
    job_sd: float
    job_weight: float
    entry_sd: float
    entry_weight: float
    tail_freedom: float
    half_life_days: float
    most_times: float
    least_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Judging:
    """What makes a change worth proposing."""

    material_share: float
    sure_errors: float
    fewest_entries: int
    spoilage_pieces: float


@cache
def material_beliefs() -> Beliefs:
    """Return what is believed about the use of materials."""
    return Beliefs(**_values("materials"))


@cache
def judging() -> Judging:
    """Return what makes a change worth proposing."""
    return Judging(**_values("judging"))


def _values(section: str) -> Document:
    return {name: row["value"] for name, row in data_beside(__file__, "assumptions.json")[section].items()}
