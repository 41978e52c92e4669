"""Everything taken along: all tables for people and for `load`, documents, drawings, sealed offers, photographs."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.db import connection

from inventory.ground.findings import Finding, Refused, refuse, warn
from studio.keeping.backing_up import in_use_here
from studio.keeping.databases import books_here
from studio.keeping.folders import building, nothing_for_others, refusals_of
from studio.keeping.manifest import Manifest, files_in, write_manifest
from studio.keeping.papers import papers
from studio.keeping.photographs import copy_photographs
from studio.keeping.rows import write_csv, write_lines
from studio.keeping.tables import moved_tables, photographs, schema

__all__ = ["ROWS", "TIME_ZONE", "Exported", "export"]

ROWS = "rows"
"""Folder of the tables as `load` reads them."""
TIME_ZONE = "time-zone"
_TABLES = "tables"
_SNAPSHOT = {"sqlite": "BEGIN", "postgresql": "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """What was written: where, how many tables, rows and files; what could not be."""

    where: str
    tables: int
    rows: int
    files: int
    findings: tuple[Finding, ...]


def export(folder: Path) -> Exported:
    """Write everything into a folder that is not there yet, or empty.

    Raises:
        Refused: a folder that holds something, or what the disk refuses.
    """
    with nothing_for_others(), refusals_of(folder), in_use_here():
        where = folder.absolute()
        if where.is_dir() and any(where.iterdir()):
            raise refuse("export.not-empty", str(folder), "The folder is not empty.", "Name a new one.")
        if where.exists() and not where.is_dir():
            raise refuse("disk.not-a-folder", str(folder), "A file of this name is there already.", "Name a folder.")
        with building(where) as partial:
            made_at = datetime.now(UTC)
            with _one_moment():
                counts = _write_tables(partial)
                findings = (*_write_papers(partial), *copy_photographs(photographs(), partial, kind="export"))
                applied = schema()
            if (settings.DATA_DIR / TIME_ZONE).exists():
                shutil.copyfile(settings.DATA_DIR / TIME_ZONE, partial / TIME_ZONE)
            files = files_in(partial)
            manifest = Manifest(
                kind="export",
                database=books_here().kind,
                made_at=made_at,
                schema=applied,
                counts=counts,
                files=files,
                findings=findings,
            )
            write_manifest(partial, manifest)
        return Exported(
            where=str(where), tables=len(counts), rows=sum(counts.values()), files=len(files), findings=findings
        )


@contextmanager
def _one_moment() -> Iterator[None]:
    """The books as they stand at one moment, while others write; nothing is locked."""
    with connection.cursor() as cursor:
        cursor.execute(_SNAPSHOT[connection.vendor])
        try:
            yield
        finally:
            cursor.execute("ROLLBACK")


def _write_tables(folder: Path) -> dict[str, int]:
    (folder / ROWS).mkdir()
    (folder / _TABLES).mkdir()
    counts = {}
    for model in moved_tables():
        name = model._meta.db_table
        counts[name] = write_lines(model, folder / ROWS / f"{name}.jsonl")
        write_csv(model, folder / _TABLES / f"{name}.csv")
    return counts


def _write_papers(folder: Path) -> Iterator[Finding]:
    for about, made in papers():
        try:
            for name, content in made:
                path = folder / name
                path.parent.mkdir(exist_ok=True)
                path.write_bytes(content)
        except (Refused, ValueError, KeyError) as error:
            yield warn(
                "export.paper", about, f"Its papers cannot be made: {error}", "Its rows are exported as they are."
            )
