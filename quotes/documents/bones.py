"""Where a bone of a takeoff comes from, in words."""

from inventory.ground.bone_forms import BoneForm
from inventory.ground.units import LengthUnit, format_length
from quotes.takeoff.takeoff import BoneRun

__all__ = ["bone_source"]


def bone_source(run: BoneRun, unit: LengthUnit) -> str:
    """Return in which form a bone is taken, and what it is cut from."""
    if run.drawer_form is BoneForm.COIL:
        return "cut from the coil"
    if run.cut_from_mm:
        return f"cut from {format_length(run.cut_from_mm, unit)}, {run.drawer_form.words}"
    return run.drawer_form.words
