"""Photographs rendered at random, sound and faulty ones, read and held against the truth: prints tables, fails nothing.

`make bench-photographs`.
"""

import sys
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1])]

from support_outlines import Error, errors  # noqa: E402
from support_photographs import photograph  # noqa: E402
from support_random_photographs import faulty_scenes, mirrored, sound_scenes  # noqa: E402

from inventory.ground.findings import Refused  # noqa: E402
from quotes.photograph.cards import PrintScale  # noqa: E402
from quotes.photograph.child import read_in_child  # noqa: E402

_SILENT_MM = 1.0
"""An error that is larger and that nothing tells must never be."""


def sound(count: int, size: tuple[int, int]) -> None:
    """Read pictures that should be read, a line each, then what they come to."""
    sums: dict[str, list[Error]] = {}
    lost = refused = 0
    for title, scene in sound_scenes(count, size=size):
        data = photograph(scene)
        begun = time.monotonic()
        try:
            reading = read_in_child(data, "photograph.jpg", PrintScale(), None)
        except Refused as refusal:
            refused += 1
            print(f"{title:<18} refused: {', '.join(found.code for found in refusal.findings)}")
            continue
        seconds = time.monotonic() - begun
        found = errors(reading.pieces, scene)
        lost += max(0, len(scene.pieces) - len(found))
        sums.setdefault("plain" if scene.ground in ("dark", "wood") else "busy", []).extend(found)
        for error in found:
            waist = "      " if error.waist is None else f"{error.waist:6.2f}"
            print(
                f"{title:<18} {reading.px_per_mm:4.1f} px/mm {seconds:5.1f} s  RMS {error.rms:.2f}  95 % {error.near_all:.2f}  "
                f"worst {error.worst:.2f}  area {error.area_share:+.2%}  waist {waist}  notches {max(error.notches):.2f}  "
                f"± {error.plus_minus:.2f}{'' if error.holds else '  does not hold'}"
            )
    for kind, found in sums.items():
        print(
            f"{kind}: {len(found)} pieces, RMS median {np.median([e.rms for e in found]):.2f} "
            f"95 % {np.percentile([e.rms for e in found], 95):.2f}; 95 % of points, worst piece {max(e.near_all for e in found):.2f}; "
            f"notches missed {sum(e.missing_notches for e in found)}; "
            f"waist 95 % {np.percentile([e.waist for e in found if e.waist is not None] or [0], 95):.2f}; "
            f"± holds for {np.mean([e.holds for e in found]):.0%}, above 1 mm {sum(e.worst > _SILENT_MM for e in found)}"
        )
    print(f"{refused} of {count} photographs refused, {lost} pieces lost")


def faulty(count: int, size: tuple[int, int]) -> None:
    """Read pictures that should be refused, so many of each fault: how many are, by the right reason, and what is silent."""
    came: dict[str, Counter[str]] = {}
    otherwise: dict[str, Counter[str]] = {}
    held: list[bool] = []
    for scene in faulty_scenes(count, size=size):
        data = photograph(scene.scene)
        data = mirrored(data) if scene.is_mirrored else data
        codes: Sequence[str]
        try:
            reading = read_in_child(data, "photograph.jpg", PrintScale(), None)
        except Refused as refusal:
            codes = [found.code for found in refusal.findings]
            outcome = "by its reason" if scene.codes & set(codes) else "otherwise"
        else:
            codes = [found.code for found in reading.findings]
            found = errors(reading.pieces, scene.scene)
            held += [error.holds for error in found]
            is_true = len(found) == len(scene.scene.pieces) and all(error.worst <= _SILENT_MM for error in found)
            outcome = "read, true" if is_true else "read, warned" if scene.codes & set(codes) else "SILENT"
        came.setdefault(scene.fault, Counter())[outcome] += 1
        if outcome != "by its reason":
            otherwise.setdefault(scene.fault, Counter()).update(codes)
    columns = ("by its reason", "otherwise", "read, true", "read, warned", "SILENT")
    print(f"{'fault':<18}{''.join(f'{column:>15}' for column in columns)}")
    for fault, outcomes in came.items():
        told = ", ".join(sorted(otherwise.get(fault, ())))
        print(f"{fault:<18}{''.join(f'{outcomes[column]:>15}' for column in columns)}  {told}")
    print(f"± held for {sum(held)} of {len(held)} pieces that were read all the same")


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:] if word.isdecimal()]
    pixels = (3000, 4000) if "large" in sys.argv else (1200, 1600)
    if "faulty" not in sys.argv:
        sound(numbers[0] if numbers else 24, pixels)
    if "sound" not in sys.argv:
        faulty(numbers[-1] if numbers else 3, pixels)
