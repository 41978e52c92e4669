"""The takeoff's assumptions, read once from `quotes/defaults.json`, where each stands with its source."""

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

__all__ = ["Defaults", "default_source", "default_words", "defaults"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Defaults:
    """The figures of `quotes/defaults.json`, by the same names: lengths in mm, shares from 0 to 1, factors above 0."""

    fill_share_plain: float
    fill_share_nap: float
    fill_share_shared: float
    cloth_use_factor: float
    lay_end_mm: float
    piece_spacing_mm: float
    bias_cut_width_mm: float
    bias_joins_share: float
    binding_end_mm: float
    binding_use_factor: float
    waist_tape_end_mm: float
    waist_tape_use_factor: float
    casing_end_mm: float
    casing_use_factor: float
    spiral_cutting_share: float
    tip_spoilage_share: float
    flat_step_mm: float
    flat_shortest_mm: float
    flat_longest_mm: float
    shortness_free_mm: float
    shortness_most_mm: float
    busk_clear_mm: float
    busk_least_clear_mm: float
    zip_clear_mm: float
    grommet_spoilage_share: float
    grommet_least_spoilt: int
    grommet_tests: int
    lacing_tail_mm: float
    lacing_ease_mm: float
    lacing_gap_mm: float
    reduction_share: float
    cord_rule_short_mm: float
    cord_rule_long_mm: float
    tall_front_mm: float
    cord_step_mm: float
    cord_use_factor: float
    grommet_lines: int
    thread_ratio: float
    thread_waste_share: float
    toile_thread_mm: float
    hand_thread_mm: float
    interfacing_strip_mm: float
    modesty_width_mm: float
    modesty_shorter_mm: float
    floss_end_mm: float
    sundries_share: float


@cache
def _rows() -> dict[str, Any]:
    rows: dict[str, Any] = json.loads(Path(__file__).parents[1].joinpath("defaults.json").read_text(encoding="utf-8"))
    del rows["about"]
    return rows


@cache
def defaults() -> Defaults:
    """Return the figures that are assumed."""
    return Defaults(**{name: row["value"] for name, row in _rows().items()})


def default_source(name: str) -> str:
    """Return the source of one figure. Raises KeyError for a name that `Defaults` lacks."""
    return str(_rows()[name]["source"])


def default_words(name: str) -> str:
    """Return what one figure is, in words. Raises KeyError for a name that `Defaults` lacks."""
    return str(_rows()[name]["words"])
