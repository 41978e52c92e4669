"""What the desk assumes: the figures of `quotes/defaults.json`, by the same names, where each stands with its source.

Lengths in mm, shares from 0 to 1, factors above 0.
"""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

from inventory.ground.sourced import figures

__all__ = ["DESK_FILE", "DeskDefaults", "TakeoffDefaults", "desk_defaults"]

DESK_FILE = Path(__file__).with_name("defaults.json")


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternDefaults:
    """When seams true, and which waists and reductions are unusual."""

    seam_tolerance_mm: float
    seam_stop_mm: float
    narrow_waist_mm: float
    wide_waist_mm: float
    large_reduction_mm: float
    large_reduction_share: float
    large_take_in_mm: float
    waist_reach_mm: float
    ease_mm: float
    child_waist_mm: float
    least_closed_waist_mm: float
    most_closed_waist_mm: float
    usual_closed_waist_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockDefaults:
    """What the form of an estimating block starts from; edges at centre front, side and centre back."""

    panels_per_half: int
    bust_height_mm: float
    underbust_height_mm: float
    high_hip_height_mm: float
    bottom_height_mm: float
    top_mm: tuple[float, float, float]
    bottom_mm: tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotographDefaults:
    """What is known of lenses and cards before a photograph is looked at, and when one is refused."""

    most_megapixels: int
    halved_from_megapixels: int
    least_side_px: int
    usual_focal_35_mm: float
    focal_share_said: float
    focal_share_unsaid: float
    axis_share: float
    distortion: float
    bend_mm: float
    print_tolerance_share: float
    fewest_cards: int
    least_resolution: float
    most_blur_mm: float
    least_white: float
    most_plus_minus_mm: float
    ruler_tolerance_share: float
    ruler_found_share: float
    most_photographs: int
    most_mb: int
    shown_seconds: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstructionDefaults:
    """What a construction and a client's choices leave unsaid."""

    seam_allowance_mm: float
    centre_front_allowance_mm: float
    centre_back_allowance_mm: float
    trimming_mm: float
    back_tacks: int
    channel_stitch_mm: float
    bones_per_seam: int
    bones_at_busk: int
    bone_shorter_mm: float
    grommet_margin_mm: float
    grommet_waist_zone_mm: float
    grommet_pitch_mm: float
    grommet_waist_pitch_mm: float
    grommet_inset_mm: float
    fittings: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LayDefaults:
    """What is kept free in a lay, how far a lining may lie off the grain, how long one is searched, and when a search is given up."""

    piece_spacing_mm: float
    off_grain_deg: float
    off_grain_most_deg: float
    row_gap_mm: float
    quick_cpu_seconds: float
    normal_cpu_seconds: float
    normal_cpu_seconds_for_more: float
    usual_pieces: int
    thorough_cpu_seconds: float
    idle_cpu_seconds: float
    idle_turns: int
    idle_look_minutes: int
    silent_seconds: int
    search_attempts: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TakeoffDefaults:
    """What a garment takes where neither pattern nor construction says; `busk_loops` are lengths and their loops."""

    fill_share_plain: float
    fill_share_nap: float
    fill_share_matched: float
    fill_share_shared: float
    cloth_use_factor: float
    lay_end_mm: float
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
    flat_spoilage_share: float
    flat_step_mm: float
    flat_shortest_mm: float
    flat_longest_mm: float
    shortness_free_mm: float
    shortness_most_mm: float
    most_stacked_bones: int
    busk_clear_mm: float
    busk_least_clear_mm: float
    busk_most_clear_mm: float
    busk_loops: tuple[tuple[float, int], ...]
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
    toile_use_factor: float
    toile_thread_mm: float
    hand_thread_mm: float
    toile_stitch_mm: float
    four_ply_factor: float
    interfacing_strip_mm: float
    fusible_use_factor: float
    modesty_width_mm: float
    modesty_shorter_mm: float
    floss_end_mm: float
    sundries_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuringDefaults:
    """How often a measure is taken, and when it is looked at again."""

    takes: int
    most_apart_mm: float
    most_days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RateDefaults:
    """The rates that a workroom starts with, money in its own currency."""

    labour_per_hour: Decimal
    overhead_per_hour: Decimal
    contingency_share: Decimal
    margin_share: Decimal
    deposit_shares: tuple[Decimal, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RiskDefaults:
    """How far prices may move, and what is spoiled."""

    price_spread_share: float
    spoiled_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkroomDefaults:
    """The hours and days that a workroom starts with."""

    productive_weeks: int
    hours_per_week: int
    productive_percent: int
    quote_valid_days: int
    lead_weeks: int
    bench_days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WornDefaults:
    """How a piece is drawn worn: the body's depth, its bends, and how much cloth a photograph shows."""

    depth_share: float
    bend_mm: float
    photograph_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class QuoteDefaults:
    """What a client may ask of a quote, and how long a link leads to one."""

    link_days: int
    less_percent: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskDefaults:
    """All of them, a section a room."""

    pattern: PatternDefaults
    block: BlockDefaults
    photograph: PhotographDefaults
    construction: ConstructionDefaults
    lay: LayDefaults
    takeoff: TakeoffDefaults
    measuring: MeasuringDefaults
    rates: RateDefaults
    risk: RiskDefaults
    workroom: WorkroomDefaults
    worn: WornDefaults
    quote: QuoteDefaults


@cache
def desk_defaults() -> DeskDefaults:
    """Return the figures that are assumed."""
    return figures(DESK_FILE, DeskDefaults)
