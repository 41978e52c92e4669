"""The two databases that books are kept in: copied while they are written to, and a copy opened beside them."""

import os
import shutil
import sqlite3
import subprocess
from abc import ABC, abstractmethod
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
from django.conf import settings
from psycopg import sql

from inventory.ground.faults import FULL
from inventory.ground.findings import Refused, refuse
from studio.keeping.read_only import read_only_name
from studio.keeping.replacing import address_of

__all__ = ["Books", "PostgresqlBooks", "SqliteBooks", "books_here", "in_use", "is_books_file", "no_books_yet"]

_PAGES = 2000
"""Copied in one step; between steps other threads of the process have their turn."""
_MOST_NAME = 63
"""Characters of a name in PostgreSQL; longer ones are cut."""
_OPENED = "_opened_by_backup"
"""Ends the name of the database that a copy is opened in, and that is dropped before and after: nobody else's."""


class Books(ABC):
    """The books of this installation, as a database is asked for copies."""

    kind: str
    file: str
    """The name of the copy in its folder."""

    @abstractmethod
    def copy(self, folder: Path) -> None:
        """Copy the database as it stands at one moment into a folder. Raises Refused."""

    @abstractmethod
    @contextmanager
    def opened(self, folder: Path) -> Iterator[dict[str, str]]:
        """Give the environment of a process in which the copy is the database. Raises Refused."""


class SqliteBooks(Books):
    """One file, copied by SQLite's online backup."""

    kind = "sqlite"

    def __init__(self, path: Path) -> None:
        self.path = path
        self.file = path.name

    def copy(self, folder: Path) -> None:
        if not self.path.exists():
            raise no_books_yet()
        try:
            with (
                closing(sqlite3.connect(self._name(), uri=True, timeout=20)) as source,
                closing(sqlite3.connect(folder / self.file)) as copy,
            ):
                # A reader's snapshot: what is written meanwhile neither starts the copy anew nor comes into it.
                source.execute("BEGIN")
                source.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()
                source.backup(copy, pages=_PAGES, sleep=0)
        except sqlite3.Error as error:
            # Its copying gives no code along with the words of SQLite.
            if "disk is full" in str(error):
                raise Refused([FULL.found(str(folder.parent))]) from None
            raise refuse("database.not-copied", self.file, f"The books cannot be copied: {error}.") from None

    def _name(self) -> str:
        return read_only_name(self.path) if settings.IS_READ_ONLY else f"{self.path.resolve().as_uri()}?mode=rw"

    @contextmanager
    def opened(self, folder: Path) -> Iterator[dict[str, str]]:
        environment = {**os.environ, "STUDIO_DATA": str(folder)}
        environment.pop("DATABASE_URL", None)
        yield environment


class PostgresqlBooks(Books):
    """A database on a server, copied by `pg_dump`; a copy is opened as a database beside it."""

    kind = "postgresql"
    file = "books.dump"

    def __init__(self, url: str) -> None:
        self.url = url
        self.name = urlsplit(url).path.lstrip("/")

    def copy(self, folder: Path) -> None:
        self.run("pg_dump", "--format=custom", "--no-owner", "--no-privileges", f"--file={folder / self.file}")

    @contextmanager
    def opened(self, folder: Path) -> Iterator[dict[str, str]]:
        beside = self.beside(_OPENED)
        self.administer(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(beside)))
        self.administer(sql.SQL("CREATE DATABASE {} TEMPLATE template0").format(sql.Identifier(beside)))
        try:
            self.fill(beside, folder)
            yield self.environment(folder, beside)
        finally:
            self.administer(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(beside)))

    def environment(self, folder: Path, name: str) -> dict[str, str]:
        """The environment of a process whose data folder and database are others."""
        return {**os.environ, "STUDIO_DATA": str(folder), "DATABASE_URL": self.address(name)}

    def fill(self, name: str, folder: Path) -> None:
        """Restore the copy in a folder into an empty database."""
        self.run("pg_restore", "--no-owner", "--no-privileges", "--exit-on-error", str(folder / self.file), name=name)

    def beside(self, ending: str) -> str:
        """The name of a database beside the books."""
        return f"{self.name[: _MOST_NAME - len(ending)]}{ending}"

    def address(self, name: str) -> str:
        """The books' address with the name of another database."""
        return address_of(self.url, name)

    def administer(self, statement: sql.Composed) -> None:
        """Run a statement about whole databases, from the database that every server has. Raises Refused."""
        try:
            with psycopg.connect(self.address("postgres"), autocommit=True) as connection:
                connection.execute(statement)
        except psycopg.errors.InsufficientPrivilege:
            raise refuse(
                "database.permission",
                "database",
                "The user of the books may not make a database beside them, in which a copy is opened.",
                "Give it CREATEDB: ALTER ROLE name CREATEDB.",
            ) from None
        except psycopg.errors.ObjectInUse:
            raise in_use() from None
        except psycopg.Error as error:
            words = str(error).strip().partition("\n")[0]
            raise refuse(
                "database.server", "database", f"The server of the books refused: {words.rstrip('.')}."
            ) from None

    def run(self, tool: str, *arguments: str, name: str = "") -> None:
        """Run one of PostgreSQL's own tools on a database, the books where none is named. Raises Refused."""
        program = shutil.which(tool)
        if program is None:
            raise refuse("database.tool", tool, f"{tool} is not installed here.", "Install PostgreSQL’s client tools.")
        told: Any = settings.DATABASES["default"]
        named = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
        environment = {**os.environ, **{key: str(told[field]) for key, field in named.items() if told.get(field)}}
        if sslmode := told.get("OPTIONS", {}).get("sslmode"):
            environment["PGSSLMODE"] = sslmode
        done = subprocess.run(
            [program, f"--dbname={name or self.name}", "--no-password", *arguments],
            env=environment,
            capture_output=True,
            text=True,
            errors="replace",
        )
        if done.returncode:
            words = (done.stderr.strip().splitlines() or ["without a word"])[-1]
            raise refuse("database.not-copied", tool, f"{tool} failed: {words.rstrip('.')}.")


def books_here() -> Books:
    """Return the books that this process would write to."""
    if settings.IS_POSTGRESQL:
        return PostgresqlBooks(os.environ["DATABASE_URL"])
    path: Any = settings.SQLITE["NAME"]
    return SqliteBooks(path)


def is_books_file(name: str) -> bool:
    """Whether a file of the data folder is the database in SQLite, or belongs to it."""
    return name.startswith("studio.sqlite3")


def in_use() -> Refused:
    """The refusal to replace books that another program has open."""
    return refuse("database.in-use", "database", "Another program has the books open.", "Stop it, and the site, first.")


def no_books_yet() -> Refused:
    """The refusal to do something with books before `migrate` made them."""
    return refuse("database.not-migrated", "database", "There are no books here yet.", "Run `manage.py migrate` once.")
