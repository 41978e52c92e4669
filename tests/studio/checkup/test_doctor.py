"""`doctor` on real faults, and what `serve` does about them."""

import fcntl
import shutil
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pysqlite3
import pytest
from support_faults import PROJECT, closed_to_writing, environment_of, migrated, overwritten, run

_ENTRY = (
    "INSERT INTO inventory_posting (key, fingerprint, kind, job, purpose, why, cause, at) "
    "VALUES ('{number:032x}', '', 'receipt', '', '', '', '', '{at}')"
)


@pytest.fixture(scope="module")
def new_books(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return migrated(tmp_path_factory.mktemp("new"))


@pytest.fixture
def data(new_books: Path, tmp_path: Path) -> Path:
    """A folder with new books, as it should be."""
    shutil.copy(new_books, tmp_path / "studio.sqlite3")
    (tmp_path / "secret-key").write_text("a key of tests")
    tmp_path.chmod(0o700)
    return tmp_path


def changed(data: Path, statement: str) -> None:
    with closing(pysqlite3.connect(data / "studio.sqlite3")) as database, database:
        database.execute(statement)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def without_a_guard(data: Path) -> None:
    changed(data, "DROP TRIGGER payment_update")


def newer(data: Path) -> None:
    changed(data, "INSERT INTO django_migrations (app, name, applied) VALUES ('studio', '9999_later', '2027-01-01')")


def older(data: Path) -> None:
    changed(data, "DELETE FROM django_migrations WHERE app = 'studio' AND name LIKE '0013%'")


def damaged(data: Path) -> None:
    file = data / "studio.sqlite3"
    overwritten(file, after=file.stat().st_size // 2)


def entered_in_2099(data: Path) -> None:
    changed(data, _ENTRY.format(number=1, at="2099-06-01 10:00:00"))


DANGERS: list[tuple[Callable[[Path], None], str]] = [
    (without_a_guard, "guard payment_update is missing. Run `python manage.py migrate`"),
    (newer, "newer version of this program: it has studio.9999_later. Start that version"),
    (older, "of an earlier version. Run `python manage.py migrate` once."),
    (damaged, "damaged"),
    (entered_in_2099, "before the last entry of the books at 1 June 2099, 12:00. Set the clock"),
]


def test_new_books_are_sound(data: Path):
    done = run(data, "manage.py", "doctor")
    assert (done.returncode, done.stderr) == (0, "")
    assert "All is sound." in done.stdout


@pytest.mark.parametrize(("break_it", "sentence"), DANGERS)
def test_what_endangers_the_books_is_told_and_not_served(break_it: Callable[[Path], None], sentence: str, data: Path):
    break_it(data)
    for arguments in (["doctor"], ["serve", "--port", str(free_port())]):
        done = run(data, "manage.py", *arguments)
        assert done.returncode == 1
        assert sentence in done.stderr
        assert len(done.stderr.splitlines()) == 1


def test_books_that_are_being_replaced_are_not_looked_at(data: Path):
    """`restore` holds this lock alone; between its two moves no file of the books is there, and none may be made."""
    (data / "studio.sqlite3").unlink()
    with (data / "in-use.lock").open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        done = run(data, "manage.py", "serve", "--port", str(free_port()))
    assert done.returncode == 1
    assert "The books of this folder are being replaced." in done.stderr
    assert not (data / "studio.sqlite3").exists()


def test_migrate_puts_a_guard_back(data: Path):
    without_a_guard(data)
    assert run(data, "manage.py", "migrate", "--verbosity", "0").returncode == 0
    assert run(data, "manage.py", "doctor").returncode == 0


@contextmanager
def served(data: Path, *options: str) -> Iterator[tuple[str, Callable[[], str]]]:
    """A site that answers; its first line, and what it wrote on standard error until it ended."""
    command = [sys.executable, "manage.py", "serve", "--port", str(free_port()), *options]
    with subprocess.Popen(
        command, cwd=PROJECT, env=environment_of(data), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as site:
        assert site.stdout is not None

        def ended() -> str:
            site.terminate()
            return site.communicate(timeout=30)[1]

        yield site.stdout.readline(), ended


def test_other_findings_are_told_and_served(data: Path):
    changed(data, _ENTRY.format(number=1, at="2019-06-01 10:00:00"))
    with served(data) as (line, ended):
        assert "answers at" in line
        assert "warn: clock: The clock says" in ended()


def test_books_from_a_wrong_clock_are_served_to_who_says_so(data: Path):
    entered_in_2099(data)
    with served(data, "--clock-is-right") as (line, ended):
        assert "answers at" in line
        assert "warn: clock: The clock says" in ended()


def test_a_folder_that_may_not_be_written(data: Path):
    with closed_to_writing(data):
        done = run(data, "manage.py", "doctor")
    assert done.returncode == 1
    assert f"warn: {data}: The user that runs this program may not write here" in done.stderr
