"""A client's choices, and a construction with them applied."""

from dataclasses import replace
from typing import Any

from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import Finding, Refused, stop
from inventory.ground.materials import BONES, MaterialKind
from quotes.construction.construction import BindingSource, BoneChoice, Choices, Construction, FrontKind
from quotes.defaults import desk_defaults

__all__ = ["MOST_FITTINGS", "apply_choices", "read_choices"]

MOST_FITTINGS = 9
_ALLOWED: dict[str, tuple[object, ...]] = {
    "front": tuple(kind.value for kind in FrontKind),
    "bones_per_seam": (1, 2),
    "binding": tuple(source.value for source in BindingSource),
    "flossing": (True, False),
    "modesty_panel": (True, False),
    "toile": (True, False),
    "kept_pattern": (True, False),
    "fittings": tuple(range(MOST_FITTINGS + 1)),
}
_BONE_CHOICES: dict[str, tuple[object, ...]] = {
    "kind": tuple(kind.value for kind in BONES),
    "form": tuple(form.value for form in BoneForm),
    "stacked": tuple(range(1, desk_defaults().takeoff.most_stacked_bones + 1)),
}
_PICKABLE = frozenset(kind.value for kind in MaterialKind) - {MaterialKind.CLOTH.value, MaterialKind.BINDING.value}


def read_choices(document: object, where: str) -> Choices:
    """Return the choices that a commission's `choices` says; a material kind as a key picks a material by its code.

    Raises:
        Refused: every key or value that is no choice, with its path.
    """
    if not isinstance(document, dict):
        raise Refused([stop("choices.not-an-object", where, "choices must be an object, {} for none.")])
    faults: list[Finding] = []
    materials: dict[str, str] = {}
    chosen: dict[str, Any] = {}
    for key, value in document.items():
        place = f"{where}.{key[:60]}"
        if key == "bones":
            chosen["bones"] = _bones(value, place, faults)
        elif key in _ALLOWED:
            allowed = _ALLOWED[key]
            # True equals 1 in Python, but a fitting is not a yes.
            if any(value == item and type(value) is type(item) for item in allowed):
                chosen[key] = value
            else:
                words = ", ".join(str(item).lower() if isinstance(item, bool) else str(item) for item in allowed)
                faults.append(
                    stop("choices.value", place, f"{str(value)[:40]!r} is no choice here.", f"Choose {words}.")
                )
        elif key in _PICKABLE or key == "binding-tape":
            if isinstance(value, str):
                materials[MaterialKind.BINDING.value if key == "binding-tape" else key] = value
            else:
                faults.append(stop("choices.value", place, "A material is picked by its code, as text."))
        else:
            faults.append(
                stop(
                    "choices.unknown",
                    place,
                    f"The choice {key[:60]!r} is not known.",
                    f"Known are {', '.join(sorted({*_ALLOWED, 'bones'}))}.",
                )
            )
    if faults:
        raise Refused(faults)
    if "front" in chosen:
        chosen["front"] = FrontKind(chosen["front"])
    if "binding" in chosen:
        chosen["binding"] = BindingSource(chosen["binding"])
    return Choices(**chosen, materials=materials)


def _bones(document: object, where: str, faults: list[Finding]) -> dict[str, BoneChoice]:
    """What `choices.bones` says, by channel; faults are added to those that are there."""
    hint = 'Write {"seam 3": {"kind": "flat", "form": "coil", "stacked": 2}}; each of the three may be left out.'
    if not isinstance(document, dict):
        faults.append(stop("choices.value", where, "Bones are chosen by channel.", hint))
        return {}
    found = {}
    for channel, row in document.items():
        place = f"{where}.{channel[:60]}"
        if not isinstance(row, dict) or not row or not row.keys() <= _BONE_CHOICES.keys():
            faults.append(stop("choices.value", place, "This says nothing of a bone that is known.", hint))
            continue
        wrong = [key for key, value in row.items() if isinstance(value, bool) or value not in _BONE_CHOICES[key]]
        if wrong:
            words = ", ".join(str(value) for value in _BONE_CHOICES[wrong[0]])
            text = f"{str(row[wrong[0]])[:40]!r} is no choice here."
            faults.append(stop("choices.value", f"{place}.{wrong[0]}", text, f"Choose {words}."))
            continue
        found[channel] = BoneChoice(
            kind=MaterialKind(row["kind"]) if "kind" in row else None,
            form=BoneForm(row["form"]) if "form" in row else None,
            stacked=row.get("stacked", 1),
        )
    return found


def apply_choices(construction: Construction, choices: Choices) -> Construction:
    """Return the construction as these choices make it."""
    channels = construction.channels
    if choices.bones_per_seam is not None:
        channels = replace(channels, bones_per_seam=choices.bones_per_seam)
    return replace(
        construction,
        channels=channels,
        front=choices.front or construction.front,
        binding=choices.binding or construction.binding,
    )
