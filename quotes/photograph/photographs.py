"""The front door: photographs of one set by their files, and what they show together."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Finding, Refused, refuse
from inventory.ground.reading import file_bytes
from quotes.photograph.cards import PrintScale
from quotes.photograph.child import look_in_child, read_in_child
from quotes.photograph.reading import Look, PhotoReading
from quotes.photograph.ruler import without_ruler
from quotes.photograph.solve import LENS, LensPrior
from quotes.photograph.twice import each_once

__all__ = ["KINDS", "must_be_photograph", "read_photographs", "together"]

KINDS = (".jpg", ".jpeg", ".png", ".heic")
"""Endings of photographs; the last where the library for it is installed."""
_MOST_BYTES = shelf_defaults().seeing.most_mb * 1_000_000
_SMALLER = "Save it smaller; 12 million pixels are plenty."
_LENS_MOVES = np.array([0.004, 0.004, 0.004, 0.005, 0.01])
"""How far a lens differs from one photograph to the next, by focusing and steadying: share of its focal length, its axis as a share
of the focal length, its distortion terms."""


def read_photographs(
    paths: Sequence[Path], scale: PrintScale, *, ruler_mm: float | None = None, leaves_out: bool = True
) -> tuple[PhotoReading, ...]:
    """Return what each photograph shows, in the order given; several by one camera share what is learnt of its lens.

    Args:
        ruler_mm: length of a ruler that lies in at least one of them, as a check (`ruler`); None where none does.
        leaves_out: whether a piece that several show is in one of them only (`twice`).

    Raises:
        Refused: what is wrong with each that cannot be used, all of them together.
    """
    faults: list[Finding] = []
    files: list[tuple[str, bytes]] = []
    for path in paths:
        try:
            must_be_photograph(path.name)
            data = file_bytes(path, _SMALLER, most_bytes=_MOST_BYTES)
            if not data:
                raise refuse(
                    "photograph.not-a-picture", path.name, "The file is empty.", "Hand in the photograph itself."
                )
            files.append((path.name, data))
        except Refused as refusal:
            faults += refusal.findings
    looks: list[Look] = []
    for name, data in files if len(paths) > 1 else ():
        try:
            looks.append(look_in_child(data, name, scale))
        except Refused as refusal:
            faults += refusal.findings
    if faults:
        raise Refused(faults)
    readings = []
    for number, (name, data) in enumerate(files):
        try:
            lens = lens_by_others(looks, number) if looks else None
            readings.append(read_in_child(data, name, scale, lens))
        except Refused as refusal:
            faults += refusal.findings
    if faults:
        raise Refused(faults)
    return together(readings, ruler_mm, leaves_out=leaves_out)


def together(
    readings: Sequence[PhotoReading], ruler_mm: float | None, *, leaves_out: bool = True
) -> tuple[PhotoReading, ...]:
    """Return what was read of a set's photographs without its ruler, each piece once. Raises Refused where the ruler is off."""
    sound = readings if ruler_mm is None else without_ruler(readings, ruler_mm)
    return each_once(sound, leaves_out=leaves_out)


def lens_by_others(looks: Sequence[Look], number: int) -> LensPrior:
    """Return what is known of the lens of one photograph before its own cards are looked at: by the others of its camera.

    What each of them added to what was known beforehand is added up (as information, the inverse of covariance), less by how
    far a lens moves between photographs.
    """
    own = looks[number]
    before = np.linalg.inv(own.before.covariance)
    information, weighted = before.copy(), before @ own.before.mean
    moves = _LENS_MOVES * np.array([1.0, own.before.focal_px, own.before.focal_px, 1.0, 1.0])
    for other, look in enumerate(looks):
        if other == number or look.camera != own.camera:
            continue
        after = np.linalg.inv(look.after.covariance)
        gained = after - before
        pulled = after @ look.after.mean - before @ look.before.mean
        # Nothing is lost by cards: what little falls below nothing by rounding is left out.
        values, directions = np.linalg.eigh(gained)
        seen = values > 1e-9 * max(float(values.max()), 1e-12)
        directions, values = directions[:, seen], values[seen]
        mean = directions @ ((directions.T @ pulled) / values)
        spread = np.linalg.inv(directions @ np.diag(values) @ directions.T + 1e-12 * np.eye(LENS)) + np.diag(moves**2)
        gained = np.linalg.inv(spread)
        information += gained
        weighted += gained @ mean
    covariance = np.linalg.inv(information)
    return LensPrior(
        mean=covariance @ weighted,
        covariance=covariance,
        focal_px=own.before.focal_px,
        middle=own.before.middle,
    )


def must_be_photograph(name: str) -> None:
    """Raise Refused where a file's name ends unlike that of a photograph."""
    if Path(name).suffix.lower() not in KINDS:
        raise refuse(
            "photograph.unknown-kind",
            name[:80],
            f"{name[:80]} is no kind of photograph that can be read.",
            f"Hand in one of {', '.join(KINDS)}.",
        )
