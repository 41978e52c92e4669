"""The machine fails while the site is up: one sentence, nothing half-saved, reading goes on where it can, and on when mended.

Statuses by RFC 9110 (503) and RFC 4918 (507). The full disk is a limit on the pages of the database; the file that may only
be read is a connection that does not write (both pragmas of SQLite).
"""

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from support_faults import migrated, run

PROGRAM = Path(__file__).parents[1] / "support_faults_met.py"
WRITTEN = 100_000


@pytest.fixture(scope="module")
def new_books(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return migrated(tmp_path_factory.mktemp("new"))


def met(fault: str, new_books: Path, data: Path) -> dict[str, Any]:
    """What is met at a fault: answers by the request's name, and what the books hold."""
    shutil.copy(new_books, data / "studio.sqlite3")
    done = run(data, str(PROGRAM), fault)
    assert done.returncode == 0, done.stderr[-2000:]
    found: dict[str, Any] = json.loads(done.stdout)
    for status, page in found["answers"].values():
        assert "Traceback" not in page
        assert status in (200, 302, 500, 503, 507)
    return found


def test_a_full_disk(new_books: Path, tmp_path: Path):
    found = met("full", new_books, tmp_path)
    status, page = found["answers"]["write"]
    assert status == 507
    assert "<h1>This could not be saved</h1>" in page
    assert "The disk is full, so nothing more can be written. Free some space" in page
    assert "Try again" not in page
    assert found["answers"]["read"][0] == 200
    books = found["books"]
    assert 0 < books["received"] == books["postings"]
    assert books["differences"] == 0
    assert (found["answers"]["write when mended"][0], found["notes"]) == (302, WRITTEN)


def test_a_part_of_a_page_is_told_in_the_page(new_books: Path, tmp_path: Path):
    """htmx puts what comes with such a status into the page that is open."""
    status, part = met("full", new_books, tmp_path)["answers"]["write a part"]
    assert status == 507
    assert part.startswith("<h1>This could not be saved</h1>")
    assert "<html" not in part
    base = (Path(__file__).parents[2] / "templates" / "base.html").read_text()
    assert '{"code":"50[37]|413","swap":true,"error":true,"target":"#main"' in base


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [("read_only", "The books cannot be written."), ("locked", "Another program holds the books")],
)
def test_books_that_can_be_read_but_not_written(fault: str, sentence: str, new_books: Path, tmp_path: Path):
    found = met(fault, new_books, tmp_path)
    status, page = found["answers"]["write"]
    assert status == 503
    assert sentence in page
    assert found["answers"]["read"][0] == 200
    assert (found["answers"]["write when mended"][0], found["notes"]) == (302, WRITTEN)


def test_a_damaged_file(new_books: Path, tmp_path: Path):
    answers = met("damaged", new_books, tmp_path)["answers"]
    for status, page in answers.values():
        assert status == 503
        assert "The file of the books is damaged. Stop the program" in page


def test_books_of_an_earlier_version(new_books: Path, tmp_path: Path):
    answers = met("behind", new_books, tmp_path)["answers"]
    assert answers["read"][0] == 503
    assert "<h1>This cannot be shown now</h1>" in answers["read"][1]
    assert "Run `python manage.py migrate` once." in answers["read a part"][1]
    assert '<a href="">Try again</a>' in answers["read"][1]


def test_what_the_system_refuses(new_books: Path, tmp_path: Path):
    answers = met("disk", new_books, tmp_path)["answers"]
    assert {name: status for name, (status, _) in answers.items()} == {"ENOSPC": 507, "EACCES": 503, "EROFS": 503}
    assert not any("/data/x.jpg" in page for _, page in answers.values())


def test_a_fault_of_ours_is_told_as_ours(new_books: Path, tmp_path: Path):
    ((status, page),) = met("ours", new_books, tmp_path)["answers"].values()
    assert status == 500
    assert "A fault of ours" in page
