"""Reads what the checks look at off the machine and the database; writes nothing."""

import os
import shutil
from dataclasses import replace
from pathlib import Path

from django.conf import settings
from django.db import DatabaseError, connection
from django.utils import timezone

from inventory.ground.faults import fault_of
from inventory.ground.site.migrated import schema_of
from inventory.ground.site.triggers import missing_guards
from studio.checkup.checks import Facts
from studio.jobs.last_entry import last_entry

__all__ = ["facts"]

_OTHERS = 0o077


def facts() -> Facts:
    """Return what the machine and the books are in now."""
    folder = Path(settings.DATA_DIR)
    known = Facts(
        folder=str(folder),
        free_bytes=shutil.disk_usage(folder).free,
        unwritable=tuple(str(place) for place in _written(folder) if not os.access(place, os.W_OK)),
        open_to_others=tuple(str(place) for place in _private(folder) if place.stat().st_mode & _OTHERS),
        fault=None,
        damage=(),
        behind=(),
        ahead=(),
        missing_guards=(),
        last_entry=None,
        now=timezone.localtime(),
    )
    try:
        return _of_database(known)
    except (DatabaseError, OSError) as error:
        fault = fault_of(error)
        if fault is None:
            raise
        return replace(known, fault=fault)


def _of_database(known: Facts) -> Facts:
    damage = _damage()
    if damage:
        return replace(known, damage=damage)
    schema = schema_of()
    last = None if schema.behind or schema.ahead else last_entry()
    return replace(
        known,
        behind=schema.behind,
        ahead=schema.ahead,
        missing_guards=tuple(trigger.name for trigger in missing_guards()),
        last_entry=last and timezone.localtime(last),
    )


def _damage() -> tuple[str, ...]:
    """What SQLite says of its file; PostgreSQL looks after its own, and answers or does not."""
    with connection.cursor() as cursor:
        if connection.vendor != "sqlite":
            cursor.execute("SELECT 1")
            return ()
        cursor.execute("PRAGMA quick_check")
        return tuple(line for (line,) in cursor.fetchall() if line != "ok")


def _database_files() -> list[Path]:
    """The files of the database; of one that is elsewhere, or in memory, none."""
    name = str((settings.SQLITE if settings.IS_READ_ONLY else settings.DATABASES["default"])["NAME"])
    return [path for path in (Path(name), Path(f"{name}-wal"), Path(f"{name}-shm")) if path.is_file()]


def _written(folder: Path) -> list[Path]:
    media = Path(settings.MEDIA_ROOT)
    return [folder, *_database_files(), *([media] if media.is_dir() else [])]


def _private(folder: Path) -> list[Path]:
    """What only its owner should read; behind a closed folder nobody else can."""
    if not folder.stat().st_mode & _OTHERS:
        return []
    return [path for path in (folder / "secret-key", folder / "demo-login", *_database_files()) if path.is_file()]
