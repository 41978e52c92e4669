"""What a new quote's first option starts from."""

from collections.abc import Sequence
from typing import Any

from inventory.ground.findings import refuse
from inventory.ground.materials import Material, MaterialKind
from quotes.construction.shipped import DEFAULT
from quotes.workroom.settings import constructions

__all__ = ["first_option"]


def first_option(prices: Sequence[Material]) -> dict[str, Any]:
    """Return an option in the default construction, every layer from the first cloth on the shelf.

    Raises:
        Refused: the shelf has no cloth.
    """
    cloth = next((material for material in prices if material.kind is MaterialKind.CLOTH), None)
    if cloth is None:
        raise refuse("shelf.no-cloth", "shelf", "The shelf has no cloth yet.", "Put your materials on the shelf first.")
    construction = constructions()[DEFAULT]
    return {
        "name": "Two layers, busk",
        "construction": construction.code,
        "cloths": dict.fromkeys(construction.roles, cloth.code),
        "choices": {},
    }
