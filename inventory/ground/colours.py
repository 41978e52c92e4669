"""From a colour in words to a tone on a screen: the names of CSS, and those that cloths go by (`colours.json`)."""

import json
import re
from functools import cache
from pathlib import Path

from PIL import ImageColor

__all__ = ["NEUTRAL_TONE", "TONE", "tone_of"]

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


@cache
def _tones() -> dict[str, str]:
    """Tones by names without spaces; where CSS means another colour than people do (plum), people are right."""
    named = {**ImageColor.colormap, **_NAMES["survey"]["tones"], **_NAMES["trade"]["tones"]}
    return {name.replace(" ", ""): tone.lower() for name, tone in named.items() if isinstance(tone, str)}
