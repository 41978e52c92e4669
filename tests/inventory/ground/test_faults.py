"""What is read off an exception: errno by POSIX, result codes by sqlite.org/rescode.html, SQLSTATE by PostgreSQL's manual."""

import errno
from pathlib import Path

import psycopg
import pysqlite3
import pytest

from inventory.ground.faults import BEHIND, DAMAGED, FORBIDDEN, FULL, GONE, LOCKED, READ_ONLY, fault_of, told
from inventory.ground.findings import refuse


def in_sqlite(path: Path, *statements: str, uri: str = "") -> Exception:
    """What SQLite itself raises at the last of some statements."""
    connection = pysqlite3.connect(f"file:{path}{uri}", uri=True, timeout=0, isolation_level=None)
    try:
        for statement in statements[:-1]:
            connection.execute(statement)
        with pytest.raises(pysqlite3.Error) as raised:
            connection.execute(statements[-1]).fetchall()
    finally:
        connection.close()
    return raised.value


@pytest.mark.parametrize(
    ("number", "fault"),
    [(errno.ENOSPC, FULL), (errno.EDQUOT, FULL), (errno.EROFS, READ_ONLY), (errno.EACCES, FORBIDDEN)],
)
def test_of_the_system(number: int, fault: object):
    assert fault_of(OSError(number, "words of the system")) is fault


def test_a_full_disk_of_sqlite(tmp_path: Path):
    full = ("CREATE TABLE t (x)", "PRAGMA max_page_count = 2", "INSERT INTO t VALUES (randomblob(100000))")
    assert fault_of(in_sqlite(tmp_path / "a", *full)) is FULL


def test_a_file_of_sqlite_that_may_only_be_read(tmp_path: Path):
    pysqlite3.connect(tmp_path / "a").close()
    assert fault_of(in_sqlite(tmp_path / "a", "CREATE TABLE t (x)", uri="?mode=ro")) is READ_ONLY


def test_what_another_connection_holds(tmp_path: Path):
    holder = pysqlite3.connect(tmp_path / "a", isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    assert fault_of(in_sqlite(tmp_path / "a", "CREATE TABLE t (x)")) is LOCKED
    holder.close()


def test_noise_instead_of_a_database(tmp_path: Path):
    (tmp_path / "a").write_bytes(b"\xa5" * 8192)
    assert fault_of(in_sqlite(tmp_path / "a", "SELECT * FROM sqlite_master")) is DAMAGED


def test_a_folder_that_is_not_there(tmp_path: Path):
    with pytest.raises(pysqlite3.OperationalError) as raised:
        pysqlite3.connect(tmp_path / "none" / "a")
    assert fault_of(raised.value) is FORBIDDEN


def test_a_table_that_is_not_there_yet_but_no_other_slip_of_ours(tmp_path: Path):
    assert fault_of(in_sqlite(tmp_path / "a", "SELECT * FROM t")) is BEHIND
    assert fault_of(in_sqlite(tmp_path / "a", "SELEKT")) is None


@pytest.mark.parametrize(
    ("state", "fault"),
    [
        ("53100", FULL),
        ("25006", READ_ONLY),
        ("40P01", LOCKED),
        ("55P03", LOCKED),
        ("57P01", GONE),
        ("08006", GONE),
        ("XX001", DAMAGED),
        ("42P01", BEHIND),
        ("42601", None),
        ("23505", None),
    ],
)
def test_of_postgresql(state: str, fault: object):
    assert fault_of(psycopg.errors.lookup(state)("words of the server")) is fault


def test_a_server_that_is_not_there():
    with pytest.raises(psycopg.OperationalError) as raised:
        psycopg.connect("host=127.0.0.1 port=1 connect_timeout=2")
    assert fault_of(raised.value) is GONE


def test_it_is_found_behind_what_was_raised_of_it():
    try:
        try:
            raise OSError(errno.ENOSPC, "words of the system", "photograph.jpg")
        except OSError as error:
            raise ValueError("a photograph could not be kept") from error
    except ValueError as outer:
        found = told(outer)
    assert found is not None
    assert (found[0].code, found[0].where) == ("disk.full", "photograph.jpg")
    assert told(ValueError("a slip of ours")) is None
    assert told(refuse("a.code", "here", "No.")) == refuse("a.code", "here", "No.").findings


def test_what_was_raised_from_none_is_no_fault_of_the_machine():
    """PEP 409: `from None` says that what happened before is not what went wrong."""

    def slips() -> None:
        try:
            raise PermissionError(errno.EACCES, "Permission denied")
        except OSError:
            raise KeyError("a slip of ours") from None

    with pytest.raises(KeyError) as raised:
        slips()
    assert fault_of(raised.value) is None
