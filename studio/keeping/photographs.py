"""Photographs copied as the books name them: none from outside their folder, none to outside the copy's."""

import shutil
from collections.abc import Iterable
from pathlib import Path

from django.conf import settings

from inventory.ground.findings import Finding, warn

__all__ = ["PHOTOGRAPHS", "copy_photographs"]

PHOTOGRAPHS = "photographs"
"""Their folder in a copy of the books."""


def copy_photographs(names: Iterable[str], folder: Path, *, kind: str) -> tuple[Finding, ...]:
    """Copy the photographs of these names into a copy of the books; return a warning for each that is not there."""
    return tuple(
        warn(f"{kind}.photograph", name, "The books name this photograph, and it is not in their folder.")
        for name in names
        if not _copied(name, folder / PHOTOGRAPHS)
    )


def _copied(name: str, into: Path) -> bool:
    copy = into / name
    if not copy.resolve().is_relative_to(into.resolve()):
        return False
    copy.parent.mkdir(parents=True, exist_ok=True)
    try:
        shutil.copyfile(settings.MEDIA_ROOT / name, copy)
    except FileNotFoundError:
        return False
    return True
