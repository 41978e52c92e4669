"""What the shelf assumes: the figures of `inventory/defaults.json`, by the same names, where each stands with its source."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

from inventory.ground.sourced import figures

__all__ = ["ShelfDefaults", "shelf_defaults"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialDefaults:
    """How a material is sold and laid of which nothing is said."""

    usable_width_mm: int
    step_mm: int
    pack: int


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepingDefaults:
    """What keeping stock costs, and which remnants and rests are kept."""

    holding_percent_per_year: int
    surplus_days: int
    remnant_width_mm: int
    remnant_length_mm: int
    bone_rest_mm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class UseDefaults:
    """What is expected to be used, and for how long it is to last."""

    cover_weeks: int
    longest_cover_weeks: int
    service_percent: int
    review_days: int
    fewest_reviews: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ForecastDefaults:
    """Where classes of demand part, and how soon a forecast follows."""

    interval_border: Decimal
    variation_border: Decimal
    fewest_weeks: int
    smoothing_share: float
    history_weeks: int
    believable_gap_intervals: int
    least_unforeseen_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ClassDefaults:
    """Where the classes A, B and C part, as shares of a year's value."""

    a_until_share: Decimal
    b_until_share: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class CountingDefaults:
    """What a stocktake may leave unexplained, and when a figure may have a digit too many."""

    unexplained_percent: int
    digit_factor: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyingDefaults:
    """What may stand in for what."""

    freely_shorter_mm: int
    same_width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SupplierDefaults:
    """How many orders tell how late a supplier comes, and what share of them has come by then."""

    last_orders: int
    fewest_orders: int
    come_percent: int


@dataclass(frozen=True, slots=True, kw_only=True)
class CrumbDefaults:
    """The shortest pieces that are cut from coils and tapes."""

    shortest_bone_mm: int
    shortest_casing_mm: int
    shortest_waist_tape_mm: int
    shortest_binding_mm: int
    shortest_cord_mm: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureDefaults:
    """What is taken in as a picture, and how large pictures are kept."""

    most_megapixels: int
    most_upload_mb: int
    photo_side_px: int
    photo_kb: int
    shown_side_px: int
    shown_kb: int
    swatch_side_px: int
    swatch_kb: int
    logo_width_px: int
    logo_height_px: int
    logo_kb: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingDefaults:
    """What reading one file from outside may take.

    `memory_mb` is what it may write to; `address_mb` what libraries may set aside beside it without using it.
    """

    cpu_seconds: int
    wall_seconds: int
    memory_mb: int
    address_mb: int
    most_mb: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ActDefaults:
    """How long it is known of a form that it was sent already."""

    kept_days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfDefaults:
    """All of them, a section a room."""

    material: MaterialDefaults
    shelf: KeepingDefaults
    use: UseDefaults
    forecast: ForecastDefaults
    classes: ClassDefaults
    counting: CountingDefaults
    buying: BuyingDefaults
    suppliers: SupplierDefaults
    crumbs: CrumbDefaults
    pictures: PictureDefaults
    reading: ReadingDefaults
    seeing: ReadingDefaults
    acts: ActDefaults


@cache
def shelf_defaults() -> ShelfDefaults:
    """Return the figures that are assumed."""
    return figures(Path(__file__).parents[1] / "defaults.json", ShelfDefaults)
