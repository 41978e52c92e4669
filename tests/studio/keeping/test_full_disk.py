"""The disk is full for real: the site, copies and exports on a small disk that is filled to its last block.

Statuses by RFC 4918 (507) and RFC 9110 (503). Where the system mounts no disk for this user, the limits on the database's
pages and the errors of `test_faults_met.py` and `test_faults.py` stand in.
"""

import json
import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from support_faults import migrated, run
from support_small_disk import emptied, filled, mounted, remounted_read_only

PROGRAM = Path(__file__).parents[2] / "support_faults_met.py"
ROOM_FOR_BOOKS = 8000
ROOM_FOR_A_KEY = 64
WRITTEN = 100_000
OPENED_ANEW = "did not read or write what it was asked to. Look whether it has room"
"""SQLite opens books that nobody has open with a file beside them; without one block for it, it only says that it failed."""

pytestmark = pytest.mark.skipif(bool(os.environ.get("DATABASE_URL")), reason="The disk of books in SQLite.")


@pytest.fixture(scope="module")
def new_books(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return migrated(tmp_path_factory.mktemp("new"))


def disk(folder: Path, kilobytes: int) -> Iterator[Path]:
    with mounted(folder, kilobytes=kilobytes) as is_mounted:
        if not is_mounted:
            pytest.skip("No disk can be mounted here: see the limits of test_faults_met.py.")
        yield folder


@pytest.fixture
def data(new_books: Path, tmp_path: Path) -> Path:
    """Books on a disk that has room."""
    folder = tmp_path / "data"
    folder.mkdir(mode=0o700)
    shutil.copy(new_books, folder / "studio.sqlite3")
    (folder / "secret-key").write_text("a key of tests")
    return folder


@pytest.fixture
def small(tmp_path: Path) -> Iterator[Path]:
    """A disk with less room than the books take."""
    yield from disk(tmp_path / "small", ROOM_FOR_A_KEY)


@pytest.fixture
def small_with_books(new_books: Path, tmp_path: Path) -> Iterator[Path]:
    for folder in disk(tmp_path / "small", ROOM_FOR_BOOKS):
        shutil.copy(new_books, folder / "studio.sqlite3")
        yield folder


def told(data: Path, *arguments: str | Path) -> list[dict[str, str]]:
    """The findings with which a command refuses."""
    done = run(data, "manage.py", *map(str, arguments), "--json")
    assert (done.returncode, done.stderr) == (1, "")
    findings: list[dict[str, str]] = json.loads(done.stdout)["findings"]
    assert all(found["message"].endswith(".") for found in findings)
    return findings


def test_the_site_on_a_full_disk(small_with_books: Path):
    done = run(small_with_books, str(PROGRAM), "full_disk")
    assert done.returncode == 0, done.stderr[-2000:]
    found: dict[str, Any] = json.loads(done.stdout)
    answers, books = found["answers"], found["books"]
    for refused in ("write", "photograph"):
        status, page = answers[refused]
        assert status == 507
        assert "The disk is full, so nothing more can be written. Free some space" in page
    for refused in ("read on a new connection", "write on a new connection"):
        status, page = answers[refused]
        assert status == 503
        assert OPENED_ANEW in page
    assert answers["read"][0] == 200
    assert books["received"] == books["postings"]
    assert (books["differences"], books["photographs when full"]) == (0, 0)
    assert (answers["write when mended"][0], found["notes"]) == (302, WRITTEN)
    assert (answers["photograph when mended"][0], books["photographs"]) == (302, 1)


@pytest.mark.parametrize("is_filled", [False, True])
@pytest.mark.parametrize("command", ["backup", "export"])
def test_what_does_not_fit_on_another_disk(command: str, is_filled: bool, data: Path, small: Path):
    """It breaks off in the middle, or cannot begin; nothing of it stays, and the books are as they were."""
    if is_filled:
        filled(small)
    (found,) = told(data, command, small / "copies")
    assert found["code"] == "disk.full"
    assert found["message"].startswith("The disk is full")
    assert not [path for path in small.rglob("*") if path.is_file() and path.suffix not in (".lock", "")]
    assert run(data, "manage.py", "audit").returncode == 0
    if is_filled:
        emptied(small)


@pytest.mark.parametrize("command", ["backup", "export"])
def test_where_nothing_may_be_written(command: str, data: Path, small: Path):
    with remounted_read_only(small):
        (found,) = told(data, command, small / "copies")
    assert found["code"] == "disk.permission"
    (data.parent / "file").write_text("no folder")
    (found,) = told(data, command, data.parent / "file" / "copies")
    assert found["code"] == "disk.not-a-folder"
    closed = data.parent / "closed"
    closed.mkdir(mode=0o500)
    (found,) = told(data, command, closed / "copies")
    assert found["code"] == "disk.permission"


def test_a_backup_beside_the_books_on_a_full_disk(small_with_books: Path):
    run(small_with_books, "manage.py", "audit")
    filled(small_with_books)
    (found,) = told(small_with_books, "backup")
    assert found["code"] == "disk.full"
    emptied(small_with_books)
    done = run(small_with_books, "manage.py", "backup")
    assert "opened and audited" in done.stdout, done.stderr


@pytest.mark.parametrize("command", ["audit", "profit", "serve", "doctor"])
def test_commands_on_a_full_disk_say_so(command: str, small_with_books: Path):
    run(small_with_books, "manage.py", "audit")
    filled(small_with_books)
    arguments = ["--port", "8499"] if command == "serve" else []
    done = run(small_with_books, "manage.py", command, *arguments)
    assert done.returncode == 1
    assert OPENED_ANEW in done.stderr
    assert "Traceback" not in done.stderr
    emptied(small_with_books)


def test_a_first_start_on_a_full_disk(small: Path):
    filled(small)
    done = run(small, "manage.py", "migrate")
    assert done.returncode == 1
    assert "The disk is full" in done.stderr
    emptied(small)
    assert not (small / "secret-key").exists()
