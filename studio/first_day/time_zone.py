"""The time zone of an installation, beside its key: chosen on the first day, read by whatever starts."""

import zoneinfo
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils import timezone

__all__ = ["keep_zone", "kept_zone", "zones"]

_FILE = "time-zone"
_NO_PLACES = ("Etc/", "SystemV/", "US/")


def zones() -> list[str]:
    """Return the time zones that places keep, by the names of the IANA database, and the one that is kept now."""
    places = {name for name in zoneinfo.available_timezones() if "/" in name and not name.startswith(_NO_PLACES)}
    return sorted(places | {settings.TIME_ZONE})


def kept_zone(folder: Path) -> str:
    """Return the zone that was chosen, empty for none."""
    path = folder / _FILE
    return path.read_text(encoding="utf-8", errors="replace").strip() if path.exists() else ""


def keep_zone(name: str) -> None:
    """Keep a zone, and reckon the days of this process by it at once; other processes do when they start."""
    path = settings.DATA_DIR / _FILE
    written = path.with_suffix(".new")
    written.write_text(f"{name}\n", encoding="utf-8")
    written.replace(path)
    settings.TIME_ZONE = name
    reckoned_by: Any = timezone.get_default_timezone
    reckoned_by.cache_clear()
