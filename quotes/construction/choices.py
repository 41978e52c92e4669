"""A client's choices, and a construction with them applied."""

from dataclasses import replace
from typing import Any

from inventory.ground.findings import Finding, Refused, stop
from inventory.ground.materials import MaterialKind
from quotes.construction.construction import BindingSource, Choices, Construction, FrontKind

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
        if key in _ALLOWED:
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
                    f"Known are {', '.join(sorted(_ALLOWED))}.",
                )
            )
    if faults:
        raise Refused(faults)
    if "front" in chosen:
        chosen["front"] = FrontKind(chosen["front"])
    if "binding" in chosen:
        chosen["binding"] = BindingSource(chosen["binding"])
    return Choices(**chosen, materials=materials)


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
