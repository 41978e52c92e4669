"""Where copies are kept, how many and how often: `keeping.json` of the data folder, else the defaults."""

from dataclasses import dataclass
from pathlib import Path

import msgspec

from inventory.ground.findings import refuse
from inventory.ground.reading import file_bytes, json_data
from studio.defaults import studio_defaults

__all__ = ["Choices", "choices"]

_FILE = "keeping.json"
_MOST = 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """How copies are kept.

    Attributes:
        folder: where they stand.
        keep: how many good ones are kept.
        hours: how old the last one may be before another is made, while the site is served.
    """

    folder: Path
    keep: int
    hours: float


class _Chosen(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    folder: str = ""
    keep: int | None = None
    hours: float | None = None


def choices(data: Path) -> Choices:
    """Return what was chosen in a data folder.

    Raises:
        Refused: a `keeping.json` that cannot be read or says more than is known here, or figures that cannot be.
    """
    path, assumed = data / _FILE, studio_defaults().keeping
    chosen = _Chosen()
    if path.exists():
        try:
            chosen = msgspec.convert(json_data(file_bytes(path), _FILE), _Chosen)
        except msgspec.ValidationError as error:
            raise refuse(
                "keeping.choices", _FILE, f"{error}.", 'Write {"folder": "/media/copies", "keep": 14}.'
            ) from None
    keep = assumed.copies_kept if chosen.keep is None else chosen.keep
    hours = assumed.hours_between if chosen.hours is None else chosen.hours
    if not 1 <= keep <= _MOST:
        raise refuse("keeping.choices", f"{_FILE}, keep", f"{keep} copies cannot be kept.", "Write 1 or more.")
    if not 0 < hours <= _MOST:
        raise refuse("keeping.choices", f"{_FILE}, hours", f"{hours} is no time between copies.", "Write 24 for a day.")
    return Choices(folder=data / (chosen.folder or "backups"), keep=keep, hours=hours)
