"""A data folder that may only be read: what reads goes on, what writes is a sentence, nothing in it changes.

How SQLite opens such books: sqlite.org/wal.html, 8 (read-only databases), and sqlite.org/uri.html (mode, immutable).
"""

import json
import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from support_faults import closed_to_writing, migrated, run
from support_small_disk import mounted, remounted_read_only

pytestmark = pytest.mark.skipif(bool(os.environ.get("DATABASE_URL")), reason="A server writes elsewhere.")
READING = ["audit", "profit", "reorder", "calibrate"]
WRITING = {
    "migrate": "The books cannot be written.",
    "demo": "The books cannot be written.",
    "serve": "The books cannot be written, so nobody could log in.",
    "backup": "This may not be read or written.",
}


@pytest.fixture(scope="module")
def new_books(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return migrated(tmp_path_factory.mktemp("new"))


@contextmanager
def without_a_right(folder: Path, books: Path) -> Iterator[Path]:
    """The folder belongs to somebody else, and may be read."""
    folder.mkdir(mode=0o700)
    shutil.copy(books, folder / "studio.sqlite3")
    (folder / "secret-key").write_text("a key of tests")
    with closed_to_writing(folder, *folder.iterdir()):
        yield folder


@contextmanager
def on_a_disk_to_be_read(folder: Path, books: Path) -> Iterator[Path]:
    """The folder's disk is mounted to be read; where none can be mounted, the rights stand in."""
    with mounted(folder, kilobytes=8000) as is_mounted:
        if is_mounted:
            shutil.copy(books, folder / "studio.sqlite3")
            (folder / "secret-key").write_text("a key of tests")
            with remounted_read_only(folder):
                yield folder
    if not is_mounted:
        folder.rmdir()
        with without_a_right(folder, books):
            yield folder


@pytest.fixture(params=[without_a_right, on_a_disk_to_be_read])
def data(request: pytest.FixtureRequest, new_books: Path, tmp_path: Path) -> Iterator[Path]:
    with request.param(tmp_path / "data", new_books) as folder:
        yield folder


def test_what_reads_goes_on_and_what_writes_is_told(data: Path, tmp_path: Path):
    before = {path.name: path.read_bytes() for path in data.iterdir()}
    for command in READING:
        done = run(data, "manage.py", command)
        assert (command, done.returncode, "stop: " in done.stderr) == (command, 0, False)
    for command, sentence in WRITING.items():
        done = run(data, "manage.py", command)
        assert (command, done.returncode) == (command, 1)
        assert done.stderr.startswith("stop: ")
        assert sentence in done.stderr
    doctor = run(data, "manage.py", "doctor")
    assert doctor.returncode == 1
    assert f"warn: {data}: The user that runs this program may not write here" in doctor.stderr
    assert {path.name: path.read_bytes() for path in data.iterdir()} == before


def test_the_books_can_be_taken_elsewhere(data: Path, tmp_path: Path):
    """Off a disk that the system mounts to be read because it is failing."""
    copied = run(data, "manage.py", "backup", str(tmp_path / "copies"), "--json")
    assert copied.returncode == 0, copied.stdout
    where = Path(json.loads(copied.stdout)["where"])
    with closing(sqlite3.connect(where / "studio.sqlite3")) as copy:
        assert copy.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    exported = run(data, "manage.py", "export", str(tmp_path / "export"))
    assert exported.returncode == 0, exported.stderr


def test_what_its_owner_writes_meanwhile_is_read(new_books: Path, tmp_path: Path):
    """What stands in the log alone is no less in the books."""
    folder = tmp_path / "data"
    folder.mkdir(mode=0o700)
    shutil.copy(new_books, folder / "studio.sqlite3")
    (folder / "secret-key").write_text("a key of tests")
    with closing(sqlite3.connect(folder / "studio.sqlite3", isolation_level=None)) as owner:
        owner.execute("PRAGMA journal_mode=WAL")
        owner.execute("PRAGMA wal_autocheckpoint=0")
        owner.execute("INSERT INTO quotes_yearlycost (what, amount_minor) VALUES ('Rent', 120000)")
        with closed_to_writing(folder, *folder.iterdir()):
            program = (
                "import django; django.setup()\nfrom quotes.models import YearlyCost\nprint(YearlyCost.objects.count())"
            )
            done = run(folder, "-c", program)
    assert done.returncode == 0, done.stderr
    assert done.stdout == "1\n"
