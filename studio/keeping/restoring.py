"""A copy brought back: checked, opened and audited before it replaces anything; what was there is moved aside."""

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.db import connection
from psycopg import sql

from inventory.ground.findings import Finding, Refused, Severity, refuse, stop, stops
from studio.keeping.backing_up import small_files
from studio.keeping.databases import Books, PostgresqlBooks, SqliteBooks, books_here, in_use, is_books_file
from studio.keeping.folders import flushed, locked, nothing_for_others, refusals_of, stamp
from studio.keeping.manifest import MANIFEST, Manifest, checked
from studio.keeping.proving import proved
from studio.keeping.replacing import IN_USE, Moves, Renaming, replaced
from studio.keeping.tables import schema_known

__all__ = ["Restored", "nobody_uses", "restore"]

_AUDIT = "copy.audit"
_ASIDE = "before-restore-"
_NEW = ".restoring-"


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """What was brought back.

    Attributes:
        made_at: when the copy was made, UTC.
        rows: of all its tables.
        aside: where the files that were there stand now.
        database_aside: the name of the database that was there, on a server; empty with SQLite, whose file is in `aside`.
        migrated: whether its schema was of an earlier version.
        findings: what is doubtful about it.
    """

    made_at: datetime
    rows: int
    aside: str
    database_aside: str
    migrated: bool
    findings: tuple[Finding, ...]


def restore(folder: Path, *, doubtful: bool = False) -> Restored:
    """Put the books of a copy in the place of those that are here.

    Args:
        doubtful: take a copy although its audit names differences; a damaged one is never taken.

    Raises:
        Refused: the site is served or the books are open elsewhere; the copy is damaged, of a newer schema or of another
            kind of database; its audit differs. Nothing was changed then.
    """
    data: Path = settings.DATA_DIR
    with nothing_for_others(), refusals_of(data), nobody_uses():
        manifest = checked(folder, kind="backup")
        books = books_here()
        _must_fit(manifest, books, folder)
        now = stamp(datetime.now(UTC))
        new = data / f"{_NEW}{now}"
        for broken_off in data.glob(f"{_NEW}*"):
            shutil.rmtree(broken_off)
        with ExitStack() as stack:
            stack.callback(shutil.rmtree, new, ignore_errors=True)
            shutil.copytree(folder, new)
            (new / MANIFEST).unlink()
            replacing = _PostgresqlReplacing(books, now) if isinstance(books, PostgresqlBooks) else _Replacing()
            stack.callback(replacing.given_up)
            with replacing.opened(books, new) as environment:
                proof = proved(environment, migrated=True)
            findings = tuple(_weighed(proof.findings, doubtful=doubtful))
            if stops(findings):
                raise Refused(stops(findings)[:1])
            flushed(new)
            aside = data / f"{_ASIDE}{now}"
            connection.close()
            if isinstance(books, SqliteBooks):
                _close_file(books.path)
            with replaced(data, _moves(data, new, aside, replacing.names), url=os.environ.get("DATABASE_URL", "")):
                replacing.replace()
        return Restored(
            made_at=manifest.made_at,
            rows=sum(proof.counts.values()),
            aside=str(aside),
            database_aside=replacing.aside,
            migrated=proof.schema != manifest.schema,
            findings=findings,
        )


@contextmanager
def nobody_uses() -> Iterator[None]:
    """Hold the data folder alone. Raises Refused while the site is served from it, or a copy is made of it."""
    refusal = refuse(
        "folder.in-use",
        settings.DATA_DIR.name,
        "The site is served from this folder, or its books are being copied.",
        "Stop the site first.",
    )
    with locked(settings.DATA_DIR / IN_USE, alone=True, refusal=refusal):
        yield


class _Replacing:
    """A database in a file: the copy's own file is opened, and moved with the others."""

    aside = ""
    names: Renaming | None = None

    @contextmanager
    def opened(self, books: Books, folder: Path) -> Iterator[dict[str, str]]:
        with books.opened(folder) as environment:
            yield environment

    def replace(self) -> None:
        """Nothing more than the files were."""

    def given_up(self) -> None:
        """Nothing is left elsewhere."""


class _PostgresqlReplacing(_Replacing):
    """A database on a server: the copy is filled into one beside the books, which take each other's names."""

    def __init__(self, books: PostgresqlBooks, now: str) -> None:
        self.books = books
        self.new = books.beside("_restoring")
        self.aside = books.beside(f"_before_{now}")
        self.names = Renaming(books=books.name, new=self.new, aside=self.aside)

    @contextmanager
    def opened(self, books: Books, folder: Path) -> Iterator[dict[str, str]]:
        self.given_up()
        self.books.administer(_named("CREATE DATABASE {} TEMPLATE template0", self.new))
        self.books.fill(self.new, folder)
        yield self.books.environment(folder, self.new)
        (folder / books.file).unlink()

    def replace(self) -> None:
        self.books.administer(_renamed(self.books.name, self.aside))
        self.books.administer(_renamed(self.new, self.books.name))

    def given_up(self) -> None:
        self.books.administer(_named("DROP DATABASE IF EXISTS {} WITH (FORCE)", self.new))


def _renamed(name: str, other: str) -> sql.Composed:
    return _named("ALTER DATABASE {} RENAME TO {}", name, other)


def _named(statement: str, *names: str) -> sql.Composed:
    return sql.SQL(statement).format(*map(sql.Identifier, names))


def _must_fit(manifest: Manifest, books: Books, folder: Path) -> None:
    if manifest.database != books.kind:
        raise refuse(
            "backup.database",
            str(folder),
            f"This is a copy of books in {_KINDS.get(manifest.database, 'another database')}; those here are in "
            f"{_KINDS[books.kind]}.",
            "Move books from one to the other with `export` and `load`.",
        )
    if books.file not in {file.name for file in manifest.files}:
        raise refuse("backup.no-database", str(folder), f"There is no {books.file} in this copy.", "Take another one.")
    known = schema_known()
    newer = [f"{app} {name}" for app, name in manifest.schema.items() if (app, name) not in known]
    if newer:
        raise refuse(
            "backup.newer",
            str(folder),
            f"This copy was made by a newer version, which knows {newer[0]}.",
            "Restore it with that version or a later one.",
        )


_KINDS = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}


def _weighed(findings: tuple[Finding, ...], *, doubtful: bool) -> Iterator[Finding]:
    """The findings; differences of the audit only warn where they were accepted."""
    for found in findings:
        if found.code != _AUDIT:
            yield found
        elif doubtful:
            yield replace(found, severity=Severity.WARN)
        else:
            yield stop(found.code, found.where, found.message, "Take another copy, or this one with --doubtful.")


def _moves(data: Path, new: Path, aside: Path, databases: Renaming | None) -> Moves:
    return Moves(
        new=new.name,
        aside=aside.name,
        leaving=[path.name for path in _replaced(data)],
        coming=sorted(path.name for path in new.iterdir()),
        databases=databases,
    )


def _replaced(data: Path) -> list[Path]:
    """What a restored copy takes the place of."""
    books = [path for path in data.iterdir() if is_books_file(path.name)]
    photographs = [path for path in [data / settings.MEDIA_ROOT.name] if path.exists()]
    return [*sorted(books), *photographs, *small_files(data)]


def _close_file(path: Path) -> None:
    """Bring a database's log into its file; a damaged one stays as it is. Raises Refused where another program has it open."""
    if not path.exists():
        return
    try:
        with closing(sqlite3.connect(path, timeout=0)) as books:
            books.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.OperationalError as error:
        if "locked" in str(error):
            raise in_use() from None
    except sqlite3.DatabaseError:
        return
