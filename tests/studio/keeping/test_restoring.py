"""A copy is brought back whole or not at all, and what was there is kept.

Nothing outside is compared with but what stood in the books before.
"""

import json
import lzma
import sqlite3
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from support_keeping import command, copied, sentence, tell
from support_processes import PROJECT, is_postgresql, migrated, python

NAMED = """
from inventory.models import StockMaterial
StockMaterial.objects.create(code="%s", name="Cord", kind="cord", unit_cost_millionths=1)
print(0)
"""
NAMES = """
from inventory.models import StockMaterial
print(json.dumps(sorted(StockMaterial.objects.values_list("code", flat=True))))
"""
UNEVEN = """
from inventory.models import StockItem, StockMaterial
StockItem.objects.create(material=StockMaterial.objects.get(), code="cord", on_hand=5)
print(0)
"""


def state(data: Path) -> dict[str, str]:
    """All files that count in a data folder, by their digests; the copies of a test stand in `copies`."""
    paths = [
        path
        for path in data.rglob("*")
        if path.is_file() and path.suffix != ".lock" and data / "copies" not in path.parents
    ]
    return {str(path.relative_to(data)): sha256(path.read_bytes()).hexdigest() for path in paths}


def rewritten(where: Path, change: Any) -> None:
    path = where / "manifest.json"
    document = json.loads(path.read_text())
    change(document)
    path.write_text(json.dumps(document))


def test_books_and_files_are_as_they_were_and_what_was_there_is_kept(world: dict[str, str]):
    data = migrated(world)
    tell(world, NAMED % "cord")
    (data / "photographs").mkdir(exist_ok=True)
    (data / "time-zone").write_text("Europe/Lisbon\n")
    where = copied(world)
    key = (data / "secret-key").read_text()
    tell(world, NAMED % "later")
    (data / "time-zone").write_text("Asia/Tokyo\n")
    (data / "secret-key").write_text("another")
    (data / "photographs" / "later.png").write_bytes(b"later")
    code, document = command(world, "restore", where)
    assert code == 0, document
    assert tell(world, NAMES) == ["cord"]
    assert (data / "secret-key").read_text() == key
    assert (data / "time-zone").read_text() == "Europe/Lisbon\n"
    aside = Path(document["aside"])
    assert (aside / "time-zone").read_text() == "Asia/Tokyo\n"
    assert (aside / "photographs" / "later.png").read_bytes() == b"later"
    if is_postgresql():
        url = world["DATABASE_URL"].rpartition("/")[0] + f"/{document['database_aside']}"
        assert tell({**world, "DATABASE_URL": url}, NAMES) == ["cord", "later"]
    else:
        books = sqlite3.connect(aside / "studio.sqlite3")
        assert books.execute("SELECT COUNT(*) FROM inventory_stockmaterial").fetchone() == (2,)
        books.close()
    assert command(world, "audit")[1]["differences"] == []


def test_a_copy_that_is_not_whole_changes_nothing(world: dict[str, str], tmp_path: Path):
    data = migrated(world)
    where = copied(world, tmp_path / "copies")
    before = state(data)
    manifest = (where / "manifest.json").read_bytes()
    assert sentence(world, "restore", tmp_path / "nowhere") == "backup.not-found"
    assert sentence(world, "restore", where / "manifest.json") == "backup.not-found"
    assert sentence(world, "restore", tmp_path / "copies") == "backup.no-manifest"
    for broken in (b"", b"{", b"[]", b"\xff", b'{"version": 9}', b'{"version": []}', b'{"kind": "backup"}'):
        (where / "manifest.json").write_bytes(broken)
        code, _ = command(world, "restore", where)
        assert code == 1
    (where / "manifest.json").write_bytes(manifest)
    rewritten(where, lambda document: document["files"].append({"name": "../x", "bytes": 1, "sha256": ""}))
    assert sentence(world, "restore", where) == "backup.manifest"
    (where / "manifest.json").write_bytes(manifest)
    (where / "more").write_text("more")
    assert sentence(world, "restore", where) == "backup.damaged"
    (where / "more").unlink()
    key = where / "secret-key"
    key.rename(where.parent / "kept")
    assert sentence(world, "restore", where) == "backup.damaged"
    (where.parent / "kept").rename(key)
    database = next(path for path in where.iterdir() if path.name in {"studio.sqlite3", "books.dump"})
    damaged = bytearray(database.read_bytes())
    damaged[len(damaged) // 2] ^= 1
    database.write_bytes(damaged)
    assert sentence(world, "restore", where) == "backup.damaged"
    assert state(data) == before


def test_damage_from_before_the_digests_were_taken_is_found_too(world: dict[str, str], tmp_path: Path):
    data = migrated(world)
    where = copied(world, tmp_path / "copies")
    database = next(path for path in where.iterdir() if path.name in {"studio.sqlite3", "books.dump"})
    content = database.read_bytes()
    database.write_bytes(content[: len(content) // 2])
    rewritten(
        where,
        lambda document: document["files"].__setitem__(
            [file["name"] for file in document["files"]].index(database.name),
            {
                "name": database.name,
                "bytes": len(content) // 2,
                "sha256": sha256(content[: len(content) // 2]).hexdigest(),
            },
        ),
    )
    before = state(data)
    code, document = command(world, "restore", where)
    assert code == 1
    assert all(found["message"].endswith((".", "!")) for found in document["findings"])
    assert state(data) == before


def test_a_newer_schema_is_refused(world: dict[str, str], tmp_path: Path):
    migrated(world)
    where = copied(world, tmp_path / "copies")
    rewritten(where, lambda document: document["schema"].update(studio="9999_of_tomorrow"))
    assert sentence(world, "restore", where) == "backup.newer"


def test_books_that_do_not_add_up_are_taken_only_when_that_is_said(world: dict[str, str]):
    migrated(world)
    tell(world, NAMED % "cord")
    tell(world, UNEVEN)
    where = command(world, "backup")[1]["where"]
    assert sentence(world, "restore", where) == "copy.audit"
    code, document = command(world, "restore", where, "--doubtful")
    assert code == 0
    assert [found["severity"] for found in document["findings"]] == ["warn"]


def test_it_refuses_while_the_books_are_open(world: dict[str, str], tmp_path: Path):
    migrated(world)
    where = copied(world, tmp_path / "copies")
    hold = "import django; django.setup()\nfrom inventory.models import Shelf\nShelf.objects.count()\nprint(1, flush=True)\ninput()"
    with python(world, "-c", hold) as other:
        assert other.stdout.readline() == "1\n"
        assert sentence(world, "restore", where) == "database.in-use"
        other.communicate("\n")
    serve = "import django; django.setup()\nfrom studio.keeping.daily import served_here\nwith served_here(): print(1, flush=True); input()"
    with python(world, "-c", serve) as other:
        assert other.stdout.readline() == "1\n"
        assert sentence(world, "restore", where) == "folder.in-use"
        other.communicate("\n")
    assert command(world, "restore", where)[0] == 0


@pytest.mark.skipif(is_postgresql(), reason="a database of SQLite")
def test_a_copy_of_an_earlier_version_is_brought_up(world: dict[str, str], tmp_path: Path):
    """The database that an earlier version wrote (`fixtures/databases/`), as a copy that it would have made."""
    data = migrated(world)
    where = copied(world, tmp_path / "copies")
    old = lzma.decompress((PROJECT / "fixtures/databases/3-hours-and-money.sqlite3.xz").read_bytes())
    (where / "studio.sqlite3").write_bytes(old)
    books = sqlite3.connect(where / "studio.sqlite3")
    schema = dict(books.execute("SELECT app, MAX(name) FROM django_migrations GROUP BY app").fetchall())
    pieces = books.execute("SELECT COUNT(*) FROM studio_pieceaccount").fetchone()
    books.close()
    changed = (where / "studio.sqlite3").read_bytes()

    def change(document: dict[str, Any]) -> None:
        document["schema"] = schema
        (file,) = (file for file in document["files"] if file["name"] == "studio.sqlite3")
        file.update(bytes=len(changed), sha256=sha256(changed).hexdigest())

    rewritten(where, change)
    code, document = command(world, "restore", where)
    assert code == 0, document
    assert document["migrated"] is True
    books = sqlite3.connect(data / "studio.sqlite3")
    assert books.execute("SELECT COUNT(*) FROM studio_pieceaccount").fetchone() == pieces
    books.close()
    assert command(world, "audit")[1]["differences"] == []


@pytest.mark.skipif(is_postgresql(), reason="books in SQLite are there without a server")
def test_books_of_another_database_are_told_how_to_move(world: dict[str, str], tmp_path: Path):
    migrated(world)
    where = copied(world, tmp_path / "copies")
    rewritten(where, lambda document: document.update(database="postgresql"))
    assert sentence(world, "restore", where) == "backup.database"
