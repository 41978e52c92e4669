"""A bone of a takeoff in words: its kind, in which form it is taken, what it is cut from."""

from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import KINDS, MaterialKind
from inventory.ground.units import LengthUnit, format_length
from quotes.takeoff.takeoff import BoneRun

__all__ = ["bone_words"]


def bone_words(run: BoneRun, unit: LengthUnit) -> str:
    """Return what a bone is and where it comes from."""
    label = KINDS[MaterialKind(run.kind)].label
    if run.drawer_form is BoneForm.COIL:
        return f"{label}, cut from the coil"
    if run.cut_from_mm:
        return f"{label}, cut from {format_length(run.cut_from_mm, unit)}, {run.drawer_form.words}"
    return f"{label}, {run.drawer_form.words}"
