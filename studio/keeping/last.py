"""How the last copies went: `last-backup.json` of the data folder, read by Today and by whoever makes the next one."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from inventory.ground.codec import Codec
from inventory.ground.findings import Refused
from inventory.ground.reading import file_bytes, json_data
from studio.keeping.folders import write_whole
from studio.keeping.manifest import MANIFEST

__all__ = ["STATE", "Last", "last_of", "note_failed", "note_good"]

STATE = "last-backup.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Last:
    """The last good copy, when and where; and what failed since, when and why; None and empty for nothing."""

    good_at: datetime | None = None
    where: str = ""
    failed_at: datetime | None = None
    why: str = ""

    @property
    def is_there(self) -> bool:
        """Whether the last good copy is still where it was made."""
        return self.good_at is not None and Path(self.where, MANIFEST).is_file()

    def is_due(self, now: datetime, *, hours: float, retry_hours: float) -> bool:
        """Whether another copy is to be made: the last good one is away or older than `hours`, and none failed just now."""
        if self.failed_at is not None and timedelta(0) <= now - self.failed_at < timedelta(hours=retry_hours):
            return False
        if self.good_at is None or not self.is_there:
            return True
        # A copy from the future was made by a clock that stood wrong.
        return not timedelta(0) <= now - self.good_at < timedelta(hours=hours)


_LAST = Codec(kind=Last, version=1)


def last_of(data: Path) -> Last:
    """Return how the last copies of a data folder went; nothing where that cannot be read."""
    path = data / STATE
    if not path.exists():
        return Last()
    try:
        last: Last = _LAST.read(json_data(file_bytes(path), STATE))
    except (Refused, ValueError, TypeError, AttributeError):
        return Last()
    # A moment without its zone is none that the clock can be held against.
    is_known = all(at is None or at.tzinfo for at in (last.good_at, last.failed_at))
    return last if is_known else Last()


def note_good(data: Path, where: Path, *, at: datetime) -> None:
    """Write down that a copy proved good."""
    write_whole(data / STATE, _LAST.written(Last(good_at=at, where=str(where))))


def note_failed(data: Path, why: str, *, at: datetime) -> None:
    """Write down that no good copy came of it; the last good one stays."""
    write_whole(data / STATE, _LAST.written(replace(last_of(data), failed_at=at, why=why)))
