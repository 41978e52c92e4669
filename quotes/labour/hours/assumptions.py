"""What is assumed of hours, read once from `assumptions.json`, where each figure stands with its source."""

import json
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path

__all__ = ["Assumptions", "assumptions"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumptions:
    """The figures of `assumptions.json`, whose words say what each means."""

    pace_sd: float
    trend_sd: float
    walk_sd: float
    maker_sd: float
    operation_sd: float
    operation_weight: float
    job_sd: float
    job_weight: float
    luck_sd: float
    luck_weight: float
    clock_min: float
    tail_freedom: float
    long_sitting_min: float
    long_times: float
    gross_times: float
    gross_chance: float
    evidence_share: float
    evidence_jobs: float
    lost_weight: float
    dropped_chance: float
    least_weight: float
    planned_after: int
    most_codes: int
    fit_each_until: int
    fit_every: int
    total_sd: float
    step_sd: float
    step_weight: float
    step_evidence: float
    jobs_kept: int
    jobs_judged: int
    jobs_corrected: int
    bias_weight: float
    width: float
    width_weight: float
    range_share: float
    few_jobs: int
    few_days: int
    much_unlogged: float
    much_lost: float
    far_apart: float


@cache
def assumptions() -> Assumptions:
    """Return what is assumed."""
    document = json.loads(Path(__file__).with_name("assumptions.json").read_text(encoding="utf-8"))
    return Assumptions(**{row.name: document[row.name]["value"] for row in fields(Assumptions)})
