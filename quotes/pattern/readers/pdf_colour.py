"""Colours of a PDF as #rrggbb, near enough to tell lines apart; nothing is managed by profiles."""

from collections.abc import Sequence
from typing import Any

import pikepdf

__all__ = ["WHITE", "colour_in", "grey", "process_colour"]

WHITE = "#ffffff"
_COMPONENTS = {
    "/DeviceGray": 1,
    "/CalGray": 1,
    "/G": 1,
    "/DeviceRGB": 3,
    "/CalRGB": 3,
    "/RGB": 3,
    "/DeviceCMYK": 4,
    "/CMYK": 4,
}
_MOST_NESTED = 4


def grey(level: float) -> str:
    """Return a grey from 0, black, to 1, white."""
    return process_colour((level,))


def process_colour(parts: Sequence[float]) -> str:
    """Return a colour of one part (grey), three (RGB) or four (CMYK); empty for other counts.

    >>> process_colour((1, 0, 0)), process_colour((0, 1, 1, 0)), process_colour((0.5,)), process_colour(())
    ('#ff0000', '#ff0000', '#808080', '')
    """
    match [min(max(part, 0.0), 1.0) for part in parts]:
        case [level]:
            rgb = [level] * 3
        case [red, green, blue]:
            rgb = [red, green, blue]
        case [cyan, magenta, yellow, black]:
            # ISO 32000-2, 10.4.2.5: without a profile, each light is 1 − min(1, ink + black).
            rgb = [1 - min(1.0, ink + black) for ink in (cyan, magenta, yellow)]
        case _:
            return ""
    return "#" + "".join(f"{round(255 * part):02x}" for part in rgb)


def colour_in(space: Any, parts: Sequence[float], depth: int = 0) -> str:
    """Return the colour that `parts` are in a colour space, by its name or its array; empty where it cannot be said."""
    if depth > _MOST_NESTED:
        return ""
    if isinstance(space, pikepdf.Array) and len(space) > 1:
        kind = str(space[0])
        if kind == "/ICCBased" and isinstance(space[1], pikepdf.Stream):
            return process_colour(parts)
        if kind in ("/Separation", "/DeviceN") and len(space) > 3:
            return _tinted(space, parts, depth)
        return process_colour(parts) if len(parts) == _COMPONENTS.get(kind) else ""
    return process_colour(parts) if _COMPONENTS.get(str(space), len(parts)) == len(parts) else ""


def _tinted(space: pikepdf.Array, parts: Sequence[float], depth: int) -> str:
    """A spot colour by its own recipe where that is a plain blend of two ends, else as a grey of its strength."""
    recipe = space[3]
    if len(parts) == 1 and isinstance(recipe, pikepdf.Dictionary) and recipe.get("/FunctionType") == 2:
        none = [float(part) for part in recipe.get("/C0", [0])]
        full = [float(part) for part in recipe.get("/C1", [1])]
        strength = min(max(parts[0], 0.0), 1.0) ** float(recipe.get("/N", 1))
        return colour_in(space[2], [a + strength * (b - a) for a, b in zip(none, full, strict=False)], depth + 1)
    return grey(1 - max(parts, default=1.0))
