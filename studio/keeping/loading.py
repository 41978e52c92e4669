"""What `export` wrote, read into an empty installation; all of it in one transaction, under the guards, or nothing."""

import json
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.core import checks
from django.core.management.color import no_style
from django.db import DataError, IntegrityError, connection, models, transaction

from inventory.ground.findings import refuse
from inventory.models import Shelf
from inventory.stock.audit import audit
from quotes.models import KeptConstruction, Workroom
from studio.keeping.databases import no_books_yet
from studio.keeping.exporting import ROWS, TIME_ZONE
from studio.keeping.folders import flushed, nothing_for_others, refusals_of
from studio.keeping.manifest import Manifest, checked
from studio.keeping.photographs import PHOTOGRAPHS
from studio.keeping.restoring import nobody_uses
from studio.keeping.rows import instance_of
from studio.keeping.tables import moved_tables, schema

__all__ = ["Loaded", "load"]

_MADE_BY_MIGRATE = (Permission, ContentType, KeptConstruction, Workroom, Shelf)
"""Tables that hold rows in an installation in which nobody did anything yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded:
    """What was loaded: how many tables, rows and photographs."""

    tables: int
    rows: int
    photographs: int


def load(folder: Path) -> Loaded:
    """Read an export into this installation.

    Raises:
        Refused: the site is served; the export is damaged, or of another schema; this installation is not empty; the
            audit differs afterwards. Nothing was loaded then.
    """
    with nothing_for_others(), refusals_of(folder), nobody_uses():
        manifest = checked(folder, kind="export")
        _must_fit(manifest, folder)
        _must_be_empty()
        with _files_of(folder), transaction.atomic():
            for model in _MADE_BY_MIGRATE:
                model._base_manager.all().delete()
            found = {model._meta.db_table: _fill(model, folder) for model in moved_tables()}
            if found != manifest.counts:
                raise refuse("load.counts", str(folder), "The rows are not as many as its manifest says.")
            _go_on_numbering()
            _must_hold()
        photographs = sum(file.name.startswith(f"{PHOTOGRAPHS}/") for file in manifest.files)
        return Loaded(tables=len(found), rows=sum(found.values()), photographs=photographs)


def _must_fit(manifest: Manifest, folder: Path) -> None:
    here = schema()
    if not here:
        raise no_books_yet()
    other = sorted(app for app in manifest.schema.keys() | here.keys() if manifest.schema.get(app) != here.get(app))
    if other:
        raise refuse(
            "load.schema",
            str(folder),
            f"This export was written by another version: its tables of {other[0]} are others than those here.",
            "Load it with the version that wrote it, then migrate.",
        )


def _must_be_empty() -> None:
    for model in moved_tables():
        if model not in _MADE_BY_MIGRATE and model._base_manager.exists():
            table = model._meta.db_table
            raise refuse("load.not-empty", table, "These books are not empty.", "Load into an installation of its own.")
    if settings.MEDIA_ROOT.exists() and any(settings.MEDIA_ROOT.iterdir()):
        raise refuse("load.not-empty", PHOTOGRAPHS, "There are photographs here already.", "Load into an empty folder.")


def _fill(model: type[models.Model], folder: Path) -> int:
    """Add the rows of a table as they were written; return how many."""
    name, count = f"{ROWS}/{model._meta.db_table}.jsonl", 0
    try:
        with (folder / name).open(encoding="utf-8", newline="\n") as file:
            for line in file:
                instance_of(model, json.loads(line)).save_base(raw=True, force_insert=True)
                count += 1
    except (ValueError, AttributeError, OverflowError, IntegrityError, DataError) as error:
        words = str(error).partition("\n")[0]
        raise refuse(
            "load.row", f"{name}, line {count + 1}", f"This row cannot be loaded: {words.rstrip('.')}."
        ) from None
    return count


def _go_on_numbering() -> None:
    """Let new rows be numbered after those that were loaded, where the database keeps count by itself."""
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), [*moved_tables(), Session]):
            cursor.execute(statement)


def _must_hold() -> None:
    """Rows that point nowhere, guards that fell away, books that do not add up: nothing is loaded then."""
    try:
        connection.check_constraints()
    except IntegrityError as error:
        words = str(error).partition("\n")[0]
        raise refuse(
            "load.broken-link", "database", f"A row points at one that is missing: {words.rstrip('.')}."
        ) from None
    for found in checks.run_checks(tags=[checks.Tags.database], databases=["default"]):
        raise refuse("load.not-guarded", "database", found.msg, found.hint or "")
    for difference in audit().differences:
        words = f"expected {difference.expected}, found {difference.found}."
        raise refuse("load.audit", f"{difference.table} {difference.row}", f"The audit differs: {words}")


@contextmanager
def _files_of(folder: Path) -> Iterator[None]:
    """Put photographs and time zone in their place before the rows count; take them away where these do not."""
    zone = settings.DATA_DIR / TIME_ZONE
    zone_before = zone.read_bytes() if zone.exists() else None
    try:
        if (folder / PHOTOGRAPHS).exists():
            shutil.copytree(folder / PHOTOGRAPHS, settings.MEDIA_ROOT, dirs_exist_ok=True)
            flushed(settings.MEDIA_ROOT)
        if (folder / TIME_ZONE).exists():
            shutil.copyfile(folder / TIME_ZONE, zone)
        yield
    except BaseException:
        shutil.rmtree(settings.MEDIA_ROOT, ignore_errors=True)
        if zone_before is None:
            zone.unlink(missing_ok=True)
        else:
            zone.write_bytes(zone_before)
        raise
