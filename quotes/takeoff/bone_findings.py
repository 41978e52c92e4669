"""What is said of bones that cannot be had, that are shorter than is ideal, or that have to be cut down."""

from decimal import Decimal

from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import Finding, note, stop, warn
from inventory.ground.materials import KINDS, MaterialKind
from quotes.construction.construction import BoneChoice
from quotes.takeoff.bone_candidates import forms_of
from quotes.takeoff.chosen_materials import Shelf
from quotes.takeoff.defaults import defaults
from quotes.takeoff.takeoff import BoneRun

__all__ = ["not_proven", "nothing_for", "runs_short", "shortness"]


def nothing_for(run: BoneRun, shelf: Shelf, choice: BoneChoice | None) -> Finding:
    """Why no bone fits a channel."""
    material = shelf.material(MaterialKind(run.kind))
    label = KINDS[material.kind].label.lower()
    if choice and choice.form and not any(form.form is choice.form for form in forms_of(material)):
        text = f"{material.title or label.capitalize()} is not to be had {choice.form.words}."
        return stop("takeoff.no-such-form", run.where, text, "Give that form a price, or leave the choice to the plan.")
    coils = [form.length_mm for form in forms_of(material) if form.form is BoneForm.COIL and form.length_mm is not None]
    if coils:
        text = f"The longest coil of {label}, {max(coils):g} mm, is shorter than the bone of {run.ideal_mm:.0f} mm."
        return stop(
            "takeoff.coil-too-short", run.where, text, "Put another coil on the list, or cut bones of that length."
        )
    lengths = [form.length_mm for form in forms_of(material) if form.length_mm is not None]
    if lengths and max(lengths) < run.ideal_mm:
        text = f"The longest {label} to be had, {max(lengths):g} mm, is {run.ideal_mm - max(lengths):.0f} mm shorter than the bone of {run.ideal_mm:.0f} mm."
        return stop("takeoff.bone-too-long", run.where, text, "Add a longer one, or a coil.")
    text = f"No {label} on the list can be made into a bone of {run.ideal_mm:.0f} mm."
    return stop(
        "takeoff.no-bone",
        run.where,
        text,
        "Add a coil, a length that fits, or bone tips so that longer ones can be cut.",
    )


def not_proven(cost: Decimal, bound: Decimal) -> Finding:
    """How much dearer than the least the bones may be, where the search ended with its time."""
    text = f"The bones come to {cost:.2f} with tips and minutes; no choice comes to less than {bound:.2f}."
    return note("takeoff.bones-not-proven", "bones", text)


def runs_short(found: Finding) -> Finding:
    """A finding of the cutting room under the channel's name."""
    return stop(
        "takeoff.bones-run-short",
        found.where,
        found.message,
        "Give one of its forms a price, so that it can be bought.",
    )


def shortness(run: BoneRun) -> list[Finding]:
    """What is doubtful about a bone's length, and what its channel asks of it."""
    label = KINDS[MaterialKind(run.kind)].label.lower()
    if run.cut_from_mm and not run.form:
        text = f"A {label} of {run.ideal_mm:.0f} mm is shorter than any that is sold; it is cut from one of {run.cut_from_mm:g} mm."
        return [note("takeoff.bone-cut-down", run.where, text, "File and tip the cut end.")]
    short = round(run.ideal_mm - run.length_mm, 2)
    if short <= defaults().shortness_free_mm:
        return []
    far = short > defaults().shortness_most_mm
    name = "flat" if run.kind == MaterialKind.FLAT else label
    return [
        warn(
            "takeoff.bone-short",
            run.where,
            f"The nearest {name} that is sold, {run.length_mm:g} mm, is {short:.0f} mm shorter than ideal ({run.ideal_mm:.0f} mm).",
            "Cut it from coil, file and tip the ends." if far else "That is usual; cut from coil if it must reach.",
        )
    ]
