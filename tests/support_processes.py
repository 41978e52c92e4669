"""Processes of a test's own, which share a database of their own (the fixture `world`)."""

import atexit
import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import psycopg

__all__ = ["PROJECT", "is_postgresql", "migrated", "migrated_file", "own_world", "python", "ran", "said"]

PROJECT = Path(__file__).parents[1]
_LONGEST_SECONDS = 300


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


def ran(
    environment: dict[str, str], *arguments: str | Path, begun_by: tuple[str, ...] = ()
) -> subprocess.CompletedProcess[str]:
    """Run Python with these arguments to its end, in a process that is forked from a prepared one.

    Where it is watched what the tests run, it is a new one, since what a fork ran would not be counted. `begun_by` is a
    program, with its arguments, that Python is run by.
    """
    words = [*map(str, arguments)]
    if {"COVERAGE_PROCESS_START", "COVERAGE_PROCESS_CONFIG"} & os.environ.keys():
        return subprocess.run(
            [*begun_by, sys.executable, *words],
            env=environment,
            cwd=PROJECT,
            capture_output=True,
            text=True,
            check=False,
            timeout=_LONGEST_SECONDS,
        )
    folder = _prepared(begun_by)
    with (
        socket.socket(socket.AF_UNIX) as asking,
        tempfile.NamedTemporaryFile(dir=folder) as out,
        tempfile.NamedTemporaryFile(dir=folder) as err,
    ):
        asking.settimeout(_LONGEST_SECONDS)
        asking.connect(str(folder / "socket"))
        request = {"arguments": words, "environment": environment, "out": out.name, "err": err.name}
        asking.sendall(json.dumps(request).encode() + b"\n")
        code = int(asking.recv(64))
        return subprocess.CompletedProcess(words, code, out.read().decode(), err.read().decode())


@cache
def _prepared(begun_by: tuple[str, ...]) -> Path:
    """The folder with the socket of a prepared process, which ends with this one."""
    folder = Path(tempfile.mkdtemp(prefix="prepared-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    program = PROJECT / "tests" / "support_prepared.py"
    process = subprocess.Popen(
        [*begun_by, sys.executable, str(program), str(folder / "socket")],
        cwd=PROJECT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        text=True,
    )
    atexit.register(process.kill)
    assert process.stdout
    assert process.stdout.readline() == "ready\n"
    return folder


def said(process: subprocess.Popen[str], *, within_seconds: int = 120) -> str:
    """What a process still has to say; it ended well."""
    out, err = process.communicate(timeout=within_seconds)
    assert process.returncode == 0, err[-2000:]
    return out


def migrated(world: dict[str, str]) -> Path:
    """Empty books of today; returns their data folder."""
    data = Path(world["STUDIO_DATA"])
    if world.get("DATABASE_URL"):
        said(python(world, "manage.py", "migrate", "--verbosity", "0"))
    else:
        shutil.copyfile(migrated_file(), data / "studio.sqlite3")
    return data


@cache
def migrated_file() -> Path:
    """A database of SQLite that was migrated once for all tests of this process, whatever server they run on."""
    folder = Path(tempfile.mkdtemp(prefix="migrated-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    without_server = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    world = {**without_server, "STUDIO_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "studio.settings"}
    said(python(world, "manage.py", "migrate", "--verbosity", "0"))
    return folder / "studio.sqlite3"


def is_postgresql() -> bool:
    return bool(os.environ.get("DATABASE_URL"))
