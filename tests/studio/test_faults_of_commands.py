"""No command prints a traceback, whatever the machine did to the books: a sentence and exit 1.

The faults are real ones: files overwritten, permissions taken away, books that were never migrated.
"""

import shutil
from pathlib import Path

import pytest
from support_faults import COMMANDS, as_commands_say, closed_to_writing, migrated, overwritten, run

WITHOUT_BOOKS = {"cards", "lay", "quote", "takeoff"}
"""They read files alone."""
WORDS_OF_THEIR_OWN = {"serve", "backup", "export", "load", "outlines", "restore"}
"""What they refuse first, or how: a port, a folder, books that cannot be copied, a file that is no photograph."""
READ = {"audit", "calibrate", "profit", "reorder"}
"""They go on where nothing may be written."""
NEEDS_ARGUMENTS = 2
SENTENCES = {
    "never migrated": "of an earlier version. Run `python manage.py migrate`",
    "damaged": "is damaged. Stop the program, keep the file as it is",
    "no database": "is damaged. Stop the program, keep the file as it is",
    "read only": "cannot be written. Give the user",
}


@pytest.fixture(scope="module")
def new_books(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return migrated(tmp_path_factory.mktemp("new"))


@pytest.fixture(
    scope="module", params=[pytest.param(fault, marks=pytest.mark.xdist_group(fault)) for fault in SENTENCES]
)
def said(
    request: pytest.FixtureRequest, new_books: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[str, dict[str, tuple[int, str, str]]]:
    """A fault, and what each command says of it."""
    data = tmp_path_factory.mktemp("faulty")
    file = data / "studio.sqlite3"
    if request.param != "never migrated":
        shutil.copy(new_books, file)
        (data / "secret-key").write_text("a key of tests")
    match request.param:
        case "damaged":
            overwritten(file, after=8192)
        case "no database":
            overwritten(file)
        case "read only":
            with closed_to_writing(data, file):
                return request.param, as_commands_say(data)
    return request.param, as_commands_say(data)


@pytest.mark.parametrize("command", COMMANDS)
def test_a_fault_of_the_books_is_a_sentence(command: str, said: tuple[str, dict[str, tuple[int, str, str]]]):
    fault, answers = said
    left, out, err = answers[command]
    assert "Traceback" not in out + err
    if (
        command in WITHOUT_BOOKS
        or (command, fault) == ("migrate", "never migrated")
        or (command, fault) in {(name, "read only") for name in READ}
    ):
        assert left == 0
    elif (command, fault) == ("doctor", "read only"):
        assert "may not write here, so nothing can be saved" in err
    elif left != NEEDS_ARGUMENTS:
        assert left == 1
        assert (out + err).startswith("stop: ") if command in WORDS_OF_THEIR_OWN else SENTENCES[fault] in out + err


@pytest.mark.parametrize("command", ["audit", "migrate", "check", "serve"])
def test_a_key_that_is_empty(command: str, tmp_path: Path):
    (tmp_path / "secret-key").touch()
    done = run(tmp_path, "manage.py", command)
    assert (done.returncode, done.stdout) == (1, "")
    assert "The key file is empty or damaged. Put it back from a backup." in done.stderr
    assert "Traceback" not in done.stderr


def test_a_folder_that_may_not_be_opened(tmp_path: Path):
    (tmp_path / "secret-key").write_text("a key of tests")
    tmp_path.chmod(0o000)
    done = run(tmp_path, "manage.py", "audit")
    tmp_path.chmod(0o755)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.startswith(f"stop: {tmp_path / 'secret-key'}: The user that runs this program may not open")
    assert len(done.stderr.splitlines()) == 1


def test_a_file_where_the_folder_should_be(tmp_path: Path):
    (tmp_path / "file").touch()
    done = run(tmp_path / "file", "manage.py", "audit")
    assert (done.returncode, done.stdout) == (2, "")
    assert "STUDIO_DATA" in done.stderr
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize("port", ["99999", "0", "-3"])
def test_a_number_that_is_no_port(port: str, tmp_path: Path):
    done = run(tmp_path, "manage.py", "serve", f"--port={port}")
    assert done.returncode == 1
    assert done.stderr == f"stop: --port: {port} is no port. Take one from 1024 to 65535.\n"
