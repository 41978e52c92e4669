"""From a colour in words to a tone on a screen: the names of CSS, and those that cloths go by (`colours.json`)."""

import json
import math
import re
from functools import cache
from pathlib import Path

from PIL import ImageColor

__all__ = ["NEUTRAL_TONE", "TONE", "tone_difference", "tone_of"]

TONE = re.compile(r"#[0-9a-f]{6}")
"""How a tone is written."""

_NAMES = json.loads(Path(__file__).with_name("colours.json").read_text(encoding="utf-8"))
NEUTRAL_TONE: str = _NAMES["neutral"]["tone"]
"""The tone of what no word names."""

_PARTED = re.compile(r"[,;/&+]|\b(?:with|and|on)\b")


def tone_of(words: str) -> str:
    """Return the tone that words name, as `#rrggbb`; empty where they name none.

    Of several colours the first counts, of one with its shade both words: where they name nothing together, the last does.

    >>> tone_of("Ivory"), tone_of("dark red"), tone_of("black with gold"), tone_of("deep navy"), tone_of("quince")
    ('#fffff0', '#8b0000', '#000000', '#000080', '')
    """
    for part in _PARTED.split(words.casefold()):
        single = re.findall(r"\w+", part)
        for length in range(len(single), 0, -1):
            for start in range(len(single) - length, -1, -1):
                if tone := _tones().get("".join(single[start : start + length])):
                    return tone
    return ""


def tone_difference(tone: str, other: str) -> float:
    """Return how far two tones (`#rrggbb`) are apart in CIE 1976 L*a*b*, 0 for none, 100 from black to white.

    From sRGB (IEC 61966-2-1) under its own white, D65.

    >>> round(tone_difference("#000000", "#ffffff")), tone_difference("#fffff0", "#fffff0")
    (100, 0.0)
    """
    return math.dist(_lab(tone), _lab(other))


def _lab(tone: str) -> tuple[float, float, float]:
    red, green, blue = (_linear(part / 255) for part in ImageColor.getrgb(tone)[:3])
    x = _cube_root((0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.9505)
    y = _cube_root(0.2126 * red + 0.7152 * green + 0.0722 * blue)
    z = _cube_root((0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.089)
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _linear(value: float) -> float:
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def _cube_root(share: float) -> float:
    return math.cbrt(share) if share > 216 / 24389 else (24389 / 27 * share + 16) / 116


@cache
def _tones() -> dict[str, str]:
    """Tones by names without spaces; where CSS means another colour than people do (plum), people are right."""
    named = {**ImageColor.colormap, **_NAMES["survey"]["tones"], **_NAMES["trade"]["tones"]}
    return {name.replace(" ", ""): tone.lower() for name, tone in named.items() if isinstance(tone, str)}
