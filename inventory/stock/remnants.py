"""Remnants: cloth with its real size, counted as a length of the full usable width."""

from dataclasses import dataclass

from inventory.ground.findings import refuse
from inventory.ground.measures import quantity_text
from inventory.models import Lot
from inventory.shelf.settings import shelf

__all__ = ["Remnant", "equivalent", "must_be_worth_keeping", "must_go_whole"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Remnant:
    """A piece of cloth with its real size: across and along the cloth."""

    width_mm: int
    length_mm: int

    def length_of_width(self, usable_width_mm: int) -> int:
        """Its area as a length of the full usable width, in whole mm, at least 1."""
        return max(1, self.width_mm * self.length_mm // usable_width_mm)


def equivalent(lot: Lot, remnant: Remnant) -> int:
    """Return what a remnant of a lot counts as, in whole mm of the full usable width.

    Raises:
        Refused: it is wider than the lot, or has no size.
    """
    width = lot.remnant_width_mm or lot.item.material.usable_width_mm
    if not 0 < remnant.width_mm <= width:
        raise refuse(
            "remnant.width", "width", f"{remnant.width_mm} mm is not within the cloth's {width} mm.", "Measure again."
        )
    if remnant.length_mm <= 0:
        raise refuse("remnant.length", "length", "A remnant has a length of more than zero.", "Measure again.")
    return remnant.length_of_width(lot.item.material.usable_width_mm)


def must_be_worth_keeping(remnant: Remnant) -> None:
    """Refuse a remnant that is smaller than the shelf's rule."""
    rule = shelf()
    if remnant.width_mm < rule.remnant_width_mm or remnant.length_mm < rule.remnant_length_mm:
        raise refuse(
            "remnant.too-small",
            "remnant",
            f"{remnant.width_mm} × {remnant.length_mm} mm is smaller than what is kept "
            f"({rule.remnant_width_mm} mm across, {rule.remnant_length_mm} mm along the grain).",
            "Scrap it with its cause instead.",
        )


def must_go_whole(lot: Lot, quantity: int) -> None:
    """Refuse a part of a remnant."""
    if lot.is_remnant and quantity != lot.on_hand:
        raise refuse(
            "remnant.whole",
            str(lot),
            "A remnant goes whole.",
            f"Take all {quantity_text(lot.on_hand, lot.item.unit)} of it, and take back what is left with its real size.",
        )
