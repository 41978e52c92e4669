"""The forms in which bones lie in the drawer and are sold: on the coil, cut to length, cut with their ends finished."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from inventory.ground.stock_units import StockUnit
from inventory.ground.units import LengthUnit, parse_lengths

__all__ = ["BoneForm", "PricedForm", "bone_lengths"]

BELIEVED_MM = (30, 1000)
"""No bone or busk is shorter or longer: what says so is a slip of the unit."""


class BoneForm(StrEnum):
    """How a bone comes. The values are the words of price lists."""

    COIL = "coil"
    CUT = "cut"
    TIPPED = "tipped"

    @property
    def label(self) -> str:
        """What a drawer's label says."""
        return {"coil": "On the coil", "cut": "Cut to length", "tipped": "Cut and tipped"}[self.value]

    @property
    def unit(self) -> StockUnit:
        """What it is counted and priced by."""
        return StockUnit.METRE if self is BoneForm.COIL else StockUnit.EACH

    @property
    def words(self) -> str:
        """What is said of one behind its name."""
        return {"coil": "on the coil", "cut": "cut, ends raw", "tipped": "cut and tipped"}[self.value]


@dataclass(frozen=True, slots=True, kw_only=True)
class PricedForm:
    """A form that a material can be had in.

    Attributes:
        length_mm: of one cut bone; of a coil, how much of it hangs together. None: a cut bone in every usual length, a
            coil without end.
        unit_cost: of a metre on the coil, of one bone else; >= 0, up to 6 decimals.
        free: how many bones lie there for this work, where it is not on offer; None: it can be bought, as many as are
            wanted.
    """

    form: BoneForm
    length_mm: float | None
    unit_cost: Decimal
    free: int | None = None


def bone_lengths(text: str) -> list[int]:
    """Return lengths of bones in tenths of a millimetre, in the order in which they were written, in mm or with units.

    >>> bone_lengths("200 9 1/2in")
    [2000, 2413]

    Raises:
        ValueError: no length, or one that no bone has; the message is a sentence.
    """
    lengths = parse_lengths(text, LengthUnit.MM)
    least, most = BELIEVED_MM
    if odd := [length for length in lengths if not least <= length <= most]:
        raise ValueError(f"A length of {odd[0]:g} mm is outside {least} to {most} mm.")
    return [round(length * 10) for length in lengths]
