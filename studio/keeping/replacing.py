"""The moves of a restore, written down before they begin: one that was broken off is taken back at the next start.

The journal lies in the data folder while files and databases take each other's places. Who finds it there while nobody
holds the folder brings back what stood there before; that may be broken off too, and is then done again.
"""

import json
import os
import shutil
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

from inventory.ground.findings import Refused, refuse
from studio.keeping.folders import flush, locked, nothing_for_others, write_whole

__all__ = ["IN_USE", "Moves", "Renaming", "address_of", "being_replaced", "replaced", "take_back_broken_off"]

IN_USE = "in-use.lock"
"""Held by all that use the data folder, and alone by who replaces it."""
_JOURNAL = ".journal-of-restore"
_ADMINISTERED_FROM = "postgres"
"""The database that every server has."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Renaming:
    """Databases of a server by name: that of the books, the one that takes its place, and what it is called aside."""

    books: str
    new: str
    aside: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """What takes which place.

    Attributes:
        new: the folder in the data folder whose files come into it; it is taken away in the end.
        aside: the folder in it that takes in what stood there before.
        leaving: names of what goes aside.
        coming: names of what comes from the new folder.
        databases: which of them take each other's names; None with books in SQLite.
    """

    new: str
    aside: str
    leaving: Sequence[str]
    coming: Sequence[str]
    databases: Renaming | None


@contextmanager
def replaced(data: Path, moves: Moves, *, url: str) -> Iterator[None]:
    """Make the moves of files; those of databases are made within. All of it is taken back where anything fails."""
    write_whole(data / _JOURNAL, asdict(moves))
    try:
        new, aside = data / moves.new, data / moves.aside
        aside.mkdir()
        for name in moves.leaving:
            (data / name).rename(aside / name)
        for name in moves.coming:
            (new / name).rename(data / name)
        flush(aside)
        flush(data)
        yield
    except BaseException:
        _take_back(data, moves, url)
        raise
    _end(data)


def take_back_broken_off(data: Path, *, url: str) -> None:
    """Bring back what stood in a data folder before a restore that was broken off, and say so on standard error.

    Args:
        url: the address of the books' database; empty for books in SQLite.

    Raises:
        Refused: the restore is still under way, or its journal cannot be read.
    """
    if not os.path.lexists(data / _JOURNAL):
        # A folder that may not be opened is told by who opens a file of it.
        return
    with nothing_for_others(), locked(data / IN_USE, alone=True, refusal=being_replaced(data)):
        if not (data / _JOURNAL).exists():
            return
        _take_back(data, _read(data / _JOURNAL), url)
    sys.stderr.write(
        f"warn: {data}: A restore was broken off; the books are as they were before it. Restore again where you want to.\n"
    )


def being_replaced(data: Path) -> Refused:
    """The refusal of all that would use the folder meanwhile."""
    return refuse("folder.replaced", data.name, "The books of this folder are being replaced.", "Wait for the end.")


def address_of(url: str, name: str) -> str:
    """Return a database's address with the name of another one on its server."""
    return urlunsplit(urlsplit(url)._replace(path=f"/{name}"))


def _take_back(data: Path, moves: Moves, url: str) -> None:
    """Undo what was done of the moves, however much that is."""
    new, aside = data / moves.new, data / moves.aside
    if moves.databases is not None:
        _rename_back(moves.databases, url)
    for name in moves.coming:
        if (data / name).exists() and not (new / name).exists():
            (data / name).rename(new / name)
    for name in moves.leaving:
        if (aside / name).exists():
            (aside / name).rename(data / name)
    if aside.exists():
        aside.rmdir()
    flush(data)
    _end(data)
    shutil.rmtree(new, ignore_errors=True)


def _end(data: Path) -> None:
    (data / _JOURNAL).unlink()
    flush(data)


def _rename_back(names: Renaming, url: str) -> None:
    import psycopg
    from psycopg import sql

    rename = sql.SQL("ALTER DATABASE {} RENAME TO {}")
    with psycopg.connect(address_of(url, _ADMINISTERED_FROM), autocommit=True) as server:
        there = {name for (name,) in server.execute("SELECT datname FROM pg_database").fetchall()}
        if names.aside in there:
            if names.books in there:
                server.execute(rename.format(sql.Identifier(names.books), sql.Identifier(names.new)))
            server.execute(rename.format(sql.Identifier(names.aside), sql.Identifier(names.books)))
        server.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(names.new)))


def _read(path: Path) -> Moves:
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        databases = document["databases"]
        return Moves(**{**document, "databases": databases and Renaming(**databases)})
    except (ValueError, KeyError, TypeError):
        raise refuse(
            "restore.journal",
            str(path),
            "A restore was broken off, and what it wrote down of its moves cannot be read.",
            "What stood here before lies in the folder before-restore-… beside it: move that back, then delete this file.",
        ) from None
