"""The range of a new estimate, from how wrong past estimates were; the maker takes or refuses it."""

from collections.abc import Mapping
from dataclasses import dataclass

from quotes.labour.learning.assumptions import judging
from quotes.labour.learning.calibrate import Calibration, predict

__all__ = ["RangeChange", "range_change"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeChange:
    """What low and high of an estimate's total would be of likely, low <= 1 <= high, and by how many jobs."""

    low: float
    high: float
    jobs: int
    evidence: str

    @property
    def width(self) -> float:
        """How many times low the high is."""
        return self.high / self.low


def range_change(
    calibration: Calibration,
    minutes: Mapping[str, float],
    now: tuple[float, float],
    *,
    style: str = "",
    repetition: int = 1,
) -> RangeChange | None:
    """Return the range that past errors speak for; None where they are few, or it is nearly what it is now.

    Few are fewer than the imagined jobs that the range is believed by at the start.

    Args:
        minutes: of a piece such as are made now, by operation, without allowance.
        now: low and high of likely, as the table gives them to that piece.
    """
    rules = judging()
    if len(calibration.errors) < rules.imagined_jobs:
        return None
    found = predict(minutes, calibration, allowance_share=0.0, style=style, repetition=repetition)
    low, high = min(1.0, found.low_min / found.total_min), max(1.0, found.high_min / found.total_min)
    if max(abs(low - now[0]), abs(high - now[1])) < rules.material_share:
        return None
    return RangeChange(low=low, high=high, jobs=len(calibration.errors), evidence=found.range_rule)
