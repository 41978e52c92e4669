"""What an option asks of the shelf: which material in which form and length, how much, for which operation."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import StockUnit
from quotes.seal.sealed import SealedOption

__all__ = ["BoneKey", "MaterialNeed", "bone_places", "material_needs"]

BoneKey = tuple[str, BoneForm | None, int]
"""A bone on the shelf: code of its material, form, length in tenths of a millimetre, 0 on the coil."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialNeed:
    """A material in one size.

    Attributes:
        size_tenths_mm: the length that a cut bone or a busk must have; 0 for what comes in no lengths.
        form: of a bone, where its price list tells forms apart; empty for the material's own.
        quantity: in the stock unit, not finer than a base unit (0.001 m, one piece).
        operation: the operation before which it must be there.
        is_visible: seen on the finished piece, so that all of it must be of one lot.
    """

    material: str
    size_tenths_mm: int
    form: str
    quantity: Decimal
    operation: str
    is_visible: bool

    @property
    def size_mm(self) -> float:
        """The length in mm; 0 for none."""
        return self.size_tenths_mm / 10


def material_needs(option: SealedOption) -> tuple[MaterialNeed, ...]:
    """Return what an option takes, one row per material, form, size and operation.

    The use with its waste counts, not what is bought in whole packs: the rest of a pack stays on the shelf.
    """
    names = {operation.code: operation.name for operation in option.takeoff.labour.operations}
    needs: dict[tuple[str, int, str, str], MaterialNeed] = {}
    for line in option.takeoff.lines:
        needed = line.needed
        # A coil is one item, however much of it hangs together.
        size = 0 if line.form == BoneForm.COIL else round(line.size_mm * 10)
        key = (line.material, size, line.form, names.get(needed.before, needed.stage))
        step = Decimal("0.001") if line.unit == StockUnit.METRE else Decimal(1)
        quantity = line.quantity.quantize(step, rounding=ROUND_CEILING)
        if not quantity:
            continue
        before = needs.get(key)
        needs[key] = MaterialNeed(
            material=key[0],
            size_tenths_mm=key[1],
            form=key[2],
            quantity=quantity + (before.quantity if before else 0),
            operation=key[3],
            is_visible=needed.is_visible or (before is not None and before.is_visible),
        )
    return tuple(needs.values())


def bone_places(option: SealedOption) -> Mapping[BoneKey, frozenset[str]]:
    """Return where an option's bones go (`centre-back`, `seam`), by what they are taken from.

    Bones that were sealed before they named their material are of the line of their kind and length.
    """
    of_lines = {(line.needed.family, round(line.size_mm * 10)): line.material for line in option.takeoff.lines}
    places: dict[BoneKey, set[str]] = defaultdict(set)
    for run in option.takeoff.bones:
        form = run.drawer_form
        tenths = 0 if form is BoneForm.COIL else round((run.cut_from_mm or run.length_mm) * 10)
        material = run.material or of_lines.get((run.kind, tenths), "")
        if material:
            places[material, form, tenths].add(run.place.value)
    return {key: frozenset(found) for key, found in places.items()}
