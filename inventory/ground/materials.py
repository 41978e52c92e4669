"""What a material is, for pricing a piece: its kind, how it is counted, what it costs and the facts its kind needs.

A `Material` comes from the studio's shelf or from a price list in a file; both read alike. Facts that are left out
take the trade's defaults, to be replaced by the maker's own.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from inventory.ground.defaults import shelf_defaults

__all__ = ["CLOTHS", "KIND_UNITS", "Material", "MaterialKind", "StockUnit"]


class MaterialKind(StrEnum):
    """The kinds that a corset takes. The values are the words of the commission file."""

    CLOTH = "cloth"
    TOILE_CLOTH = "toile-cloth"
    FUSIBLE = "fusible"
    SPIRAL = "spiral"
    FLAT = "flat"
    TIP = "tip"
    BUSK = "busk"
    ZIP = "zip"
    GROMMET = "grommet"
    CORD = "cord"
    BINDING = "binding"
    WAIST_TAPE = "waist-tape"
    CASING = "casing"
    THREAD = "thread"
    NEEDLE = "needle"
    LABEL = "label"
    PARCEL = "parcel"
    FLOSS = "floss"


CLOTHS = (MaterialKind.CLOTH, MaterialKind.TOILE_CLOTH, MaterialKind.FUSIBLE)
"""What has a usable width, may be washed and leaves remnants."""


class StockUnit(StrEnum):
    """What a price is for; `rec20_code` is its code in UN/CEFACT Recommendation 20."""

    METRE = "m"
    EACH = "each"
    PAIR = "pair"
    SET = "set"

    @property
    def rec20_code(self) -> str:
        """The code that other people's books know the unit by."""
        return {"m": "MTR", "each": "EA", "pair": "PR", "set": "SET"}[self.value]


KIND_UNITS: dict[MaterialKind, StockUnit] = {
    MaterialKind.CLOTH: StockUnit.METRE,
    MaterialKind.TOILE_CLOTH: StockUnit.METRE,
    MaterialKind.FUSIBLE: StockUnit.METRE,
    MaterialKind.SPIRAL: StockUnit.METRE,
    MaterialKind.FLAT: StockUnit.EACH,
    MaterialKind.TIP: StockUnit.EACH,
    MaterialKind.BUSK: StockUnit.PAIR,
    MaterialKind.ZIP: StockUnit.EACH,
    MaterialKind.GROMMET: StockUnit.SET,
    MaterialKind.CORD: StockUnit.METRE,
    MaterialKind.BINDING: StockUnit.METRE,
    MaterialKind.WAIST_TAPE: StockUnit.METRE,
    MaterialKind.CASING: StockUnit.METRE,
    MaterialKind.THREAD: StockUnit.METRE,
    MaterialKind.NEEDLE: StockUnit.EACH,
    MaterialKind.LABEL: StockUnit.SET,
    MaterialKind.PARCEL: StockUnit.EACH,
    MaterialKind.FLOSS: StockUnit.METRE,
}
"""The unit in which the takeoff counts each kind."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """One thing on a price list.

    Attributes:
        code: how files and the shelf name it; unique in its list.
        unit: what `unit_cost` pays for.
        unit_cost: >= 0, up to 6 decimals.
        usable_width_mm: cloth, toile cloth and fusible: width less selvedges, > 0.
        shrinkage_share: lost along the length in washing, 0 <= share < 1.
        has_nap: pieces may not be turned end for end.
        step_mm: kinds sold by length: the step in which it is sold, > 0.
        pack: kinds sold by count: pieces in a pack, >= 1.
        lengths_mm: flats and busks: the lengths it comes in, ascending; empty for the trade's own steps.
        width_mm: bones, tips and tapes.
        handling: how a cloth handles (satin, matched, mesh, leather), for the standard minutes; empty for plain.
    """

    code: str
    kind: MaterialKind
    unit: StockUnit
    unit_cost: Decimal
    name: str = ""
    usable_width_mm: float = float(shelf_defaults().material.usable_width_mm)
    shrinkage_share: float = 0.0
    has_nap: bool = False
    step_mm: float = float(shelf_defaults().material.step_mm)
    pack: int = shelf_defaults().material.pack
    lengths_mm: tuple[float, ...] = ()
    width_mm: float | None = None
    colour: str = ""
    handling: str = ""

    @property
    def title(self) -> str:
        """The name that people read."""
        return self.name or self.code
