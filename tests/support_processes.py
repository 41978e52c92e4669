"""Processes of a test's own, which share a database of their own (the fixture `world`)."""

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import psycopg

__all__ = ["PROJECT", "own_world", "python", "said"]

PROJECT = Path(__file__).parents[1]


@contextmanager
def own_world(folder: Path) -> Iterator[dict[str, str]]:
    """The environment of processes that share an empty database: SQLite in a folder, or on the PostgreSQL that is named."""
    environment = {**os.environ, "STUDIO_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "studio.settings"}
    environment["PYTHONPATH"] = f"{PROJECT}:{PROJECT / 'tests'}"
    server = os.environ.get("DATABASE_URL", "")
    if not server:
        yield environment
        return
    name = f"hammer_{os.getpid()}_{folder.name}".replace("-", "_").lower()[:60]
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    yield {**environment, "DATABASE_URL": urlunsplit(urlsplit(server)._replace(path=f"/{name}"))}
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


def python(world: dict[str, str], *arguments: str) -> subprocess.Popen[str]:
    """A process that runs Python with these arguments."""
    return subprocess.Popen(
        [sys.executable, *arguments],
        env=world,
        cwd=PROJECT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def said(process: subprocess.Popen[str], *, within_seconds: int = 120) -> str:
    """What a process still has to say; it ended well."""
    out, err = process.communicate(timeout=within_seconds)
    assert process.returncode == 0, err[-2000:]
    return out
