"""How old the last good copy of the books is, in words, and what is kept of them."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from inventory.ground.findings import Refused
from studio.defaults import studio_defaults
from studio.keeping.choices import Choices, choices
from studio.keeping.folders import kept_in
from studio.keeping.last import last_of
from studio.keeping.manifest import Manifest, manifest_of

__all__ = ["CopiesPage", "CopyRow", "CopyStanding", "copies_page", "copy_standing"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyStanding:
    """One or two sentences; `is_wrong` where something is to be done."""

    words: str
    is_wrong: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyRow:
    """One good copy: its folder, when it was made, how large it is."""

    where: Path
    made_at: datetime
    size: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CopiesPage:
    """What the page shows; `chosen` is None where what was chosen cannot be read, which `refusal` says."""

    standing: CopyStanding
    chosen: Choices | None
    refusal: str
    rows: list[CopyRow]


def copy_standing(*, on: datetime) -> CopyStanding:
    """Return how the last copies went, as seen at a moment."""
    last = last_of(settings.DATA_DIR)
    if last.good_at is None:
        words = f"No copy of the books could be made: {last.why}" if last.why else "There is no copy of the books yet."
        return CopyStanding(words=words, is_wrong=True)
    age = on - last.good_at
    words = f"The last good copy of the books is {_age(age)} old."
    if not last.is_there:
        words = f"The last good copy of the books, {_age(age)} old, is no longer at {last.where}."
        return CopyStanding(words=words, is_wrong=True)
    if age < timedelta(0):
        return CopyStanding(words="The last good copy of the books is dated later than now.", is_wrong=True)
    if last.why:
        return CopyStanding(words=f"{words} Another one failed since: {last.why}", is_wrong=True)
    return CopyStanding(words=words, is_wrong=age > timedelta(hours=studio_defaults().keeping.warn_hours))


def copies_page(*, on: datetime) -> CopiesPage:
    """Return the page of copies, the newest first."""
    standing = copy_standing(on=on)
    try:
        chosen = choices(settings.DATA_DIR)
    except Refused as refusal:
        return CopiesPage(standing=standing, chosen=None, refusal=str(refusal), rows=[])
    found = [(path, _manifest(path)) for path in reversed(kept_in(chosen.folder))]
    rows = [
        CopyRow(where=path, made_at=said.made_at, size=f"{sum(file.bytes for file in said.files) / 1e6:.1f} MB")
        for path, said in found
        if said is not None
    ]
    return CopiesPage(standing=standing, chosen=chosen, refusal="", rows=rows)


def _manifest(path: Path) -> Manifest | None:
    try:
        return manifest_of(path, kind="backup")
    except Refused:
        return None


def _age(age: timedelta) -> str:
    """An age in its largest unit, rounded down.

    >>> _age(timedelta(hours=50)), _age(timedelta(minutes=61)), _age(timedelta(seconds=9))
    ('2 days', '1 hour', 'less than a minute')
    """
    for words, unit in (("day", timedelta(days=1)), ("hour", timedelta(hours=1)), ("minute", timedelta(minutes=1))):
        if count := abs(age) // unit:
            return f"{count} {words}{'' if count == 1 else 's'}"
    return "less than a minute"
