"""Copies of the books: whole or not there, opened and audited, told from those that are not good.

Nothing outside is compared with but the files themselves: SHA-256 by the standard library, modes by the file system.
"""

import fcntl
import json
import lzma
import shutil
import sqlite3
import stat
from hashlib import sha256
from pathlib import Path

import pytest
from support_keeping import command, copied, sentence, tell
from support_processes import PROJECT, is_postgresql, migrated

from studio.keeping.folders import building

ONE_PHOTOGRAPH = """
from django.core.files.base import ContentFile
from inventory.models import StockMaterial
cord = StockMaterial.objects.create(code="cord", name="Cord", kind="cord", unit_cost_millionths=1)
cord.photo.save("cord.png", ContentFile(b"a picture"))
print(json.dumps(cord.photo.name))
"""
BROKEN = """
from uuid import uuid4
from inventory.models import StockItem, StockMaterial
cord = StockMaterial.objects.create(code="cord", name="Cord", kind="cord", unit_cost_millionths=1)
StockItem.objects.create(material=cord, code="cord", on_hand=5)
print(0)
"""


def kept(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.is_dir())


def test_a_copy_holds_database_photograph_key_and_zone_and_their_digests(world: dict[str, str]):
    data = migrated(world)
    (data / "time-zone").write_text("Europe/Lisbon\n")
    photo = tell(world, ONE_PHOTOGRAPH)
    (data / "photographs" / "nobody-names-me.png").write_bytes(b"left by an act that failed")
    where = copied(world)
    manifest = json.loads((where / "manifest.json").read_text())
    names = {file["name"] for file in manifest["files"]}
    database = "books.dump" if is_postgresql() else "studio.sqlite3"
    assert names == {database, f"photographs/{photo}", "secret-key", "time-zone"}
    for file in manifest["files"]:
        assert sha256((where / file["name"]).read_bytes()).hexdigest() == file["sha256"]
    assert (where / f"photographs/{photo}").read_bytes() == b"a picture"
    assert manifest["counts"]["inventory_stockmaterial"] == 1
    assert where.parent == data / "backups"
    others = [path for path in [where, *where.rglob("*")] if stat.S_IMODE(path.stat().st_mode) & 0o077]
    assert others == []


OUTSIDE = """
from django.conf import settings
from inventory.models import StockMaterial
(settings.DATA_DIR / "elsewhere").mkdir()
(settings.DATA_DIR / "elsewhere" / "a.png").write_bytes(b"no photograph of the books")
StockMaterial.objects.create(code="a", name="A", kind="cord", unit_cost_millionths=1, photo="../elsewhere/a.png")
print(0)
"""


@pytest.mark.parametrize("kind", ["backup", "export"])
def test_a_photograph_named_outside_its_folder_is_not_taken_along(world: dict[str, str], tmp_path: Path, kind: str):
    migrated(world)
    tell(world, OUTSIDE)
    code, document = command(world, kind, tmp_path / "out")
    assert code == 0
    assert [found["code"] for found in document["findings"]] == [f"{kind}.photograph"]
    assert list((tmp_path / "out").rglob("a.png")) == []


def test_the_last_few_are_kept(world: dict[str, str], tmp_path: Path):
    migrated(world)
    made = [copied(world, tmp_path / "elsewhere", "--keep", "2").name for _ in range(3)]
    assert kept(tmp_path / "elsewhere") == made[1:]


def test_a_copy_from_a_clock_that_stood_wrong_goes_before_the_one_just_made(world: dict[str, str], tmp_path: Path):
    migrated(world)
    later = tmp_path / "copies" / "2999-01-01T00-00-00.000Z"
    shutil.copytree(copied(world), later)
    made = copied(world, tmp_path / "copies", "--keep", "1")
    assert kept(tmp_path / "copies") == [made.name]


def test_an_export_under_way_beside_the_copies_is_left_alone(world: dict[str, str], tmp_path: Path):
    """A folder is written under the name that `building` gives it until it is whole."""
    migrated(world)
    broken_off = tmp_path / "copies" / ".partial-2027-03-28T02-30-05.000Z"
    with building(tmp_path / "copies" / "everything") as under_way:
        broken_off.mkdir()
        copied(world, tmp_path / "copies")
        assert under_way.is_dir()
        assert not broken_off.exists()


def test_books_that_do_not_add_up_are_copied_but_not_counted_as_good(world: dict[str, str]):
    data = migrated(world)
    good = copied(world)
    tell(world, BROKEN)
    code, document = command(world, "backup")
    assert code == 1
    assert [found["code"] for found in document["findings"]] == ["copy.audit"]
    assert kept(data / "backups") == [good.name, Path(document["where"]).name]
    assert document["where"].endswith("-doubtful")
    last = json.loads((data / "last-backup.json").read_text())
    assert last["where"] == str(good)
    assert last["why"]


@pytest.mark.skipif(is_postgresql(), reason="a file of SQLite")
def test_a_copy_without_its_guards_is_not_good(world: dict[str, str]):
    data = migrated(world)
    with sqlite3.connect(data / "studio.sqlite3") as books:
        books.execute("DROP TRIGGER ledger_posting_update")
    code, document = command(world, "backup")
    assert code == 1
    assert {"copy.not-guarded"} <= {found["code"] for found in document["findings"]}


@pytest.mark.skipif(is_postgresql(), reason="a file of SQLite")
def test_books_of_an_earlier_version_are_copied_as_they_are(world: dict[str, str]):
    """Before they are migrated; the database is one that an earlier version wrote (`fixtures/databases/`)."""
    data = Path(world["STUDIO_DATA"])
    old = lzma.decompress((PROJECT / "fixtures/databases/3-hours-and-money.sqlite3.xz").read_bytes())
    (data / "studio.sqlite3").write_bytes(old)
    books = sqlite3.connect(data / "studio.sqlite3")
    newest = "SELECT MAX(name) FROM django_migrations WHERE app = 'studio'"
    (before,) = books.execute(newest).fetchone()
    books.close()
    where = copied(world)
    copy = sqlite3.connect(where / "studio.sqlite3")
    assert copy.execute(newest).fetchone() == (before,)
    copy.close()
    assert json.loads((where / "manifest.json").read_text())["schema"]["studio"] == before
    assert command(world, "restore", where)[1]["migrated"] is True


@pytest.mark.skipif(is_postgresql(), reason="a file of SQLite")
def test_a_damaged_database_is_said_in_one_sentence(world: dict[str, str]):
    data = migrated(world)
    (data / "studio.sqlite3").write_bytes(b"no database at all, " * 500)
    assert sentence(world, "backup") == "database.not-copied"


ANOTHER_DATABASE = """
from django.db import connection
with connection.cursor() as cursor:
    cursor.execute(f'DROP DATABASE IF EXISTS "{connection.settings_dict["NAME"]}_copy"')
    cursor.execute(f'CREATE DATABASE "{connection.settings_dict["NAME"]}_copy" TEMPLATE template0')
print(0)
"""
TAKEN_AWAY = """
from django.db import connection
with connection.cursor() as cursor:
    cursor.execute(f'DROP DATABASE "{connection.settings_dict["NAME"]}_copy"')
print(json.dumps("dropped"))
"""


@pytest.mark.skipif(not is_postgresql(), reason="databases on a server")
def test_a_database_of_somebody_else_beside_the_books_is_left_alone(world: dict[str, str]):
    migrated(world)
    tell(world, ANOTHER_DATABASE)
    copied(world)
    assert tell(world, TAKEN_AWAY) == "dropped"


def test_two_at_once_do_not_mix(world: dict[str, str], tmp_path: Path):
    """A lock that another holds as `flock(2)` says."""
    data = migrated(world)
    for lock in (data / "copying.lock", tmp_path / "copies" / "backup.lock"):
        lock.parent.mkdir(exist_ok=True)
        with lock.open("w") as held:
            fcntl.flock(held, fcntl.LOCK_EX)
            assert sentence(world, "backup", tmp_path / "copies") == "backup.under-way"
    copied(world, tmp_path / "copies")
    # Books that are being replaced are nothing that Today warns of.
    with (data / "in-use.lock").open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        assert sentence(world, "backup") == "folder.replaced"
    assert not (data / "last-backup.json").exists()


def test_folders_that_cannot_be(world: dict[str, str], tmp_path: Path):
    migrated(world)
    (tmp_path / "a-file").write_text("here")
    assert sentence(world, "backup", tmp_path / "a-file") == "disk.not-a-folder"
    assert sentence(world, "backup", tmp_path / "a-file" / "below") == "disk.not-a-folder"
    assert sentence(world, "backup", "/proc/nowhere") == "disk.not-found"
    assert sentence(world, "backup", tmp_path / ("long" * 100)) == "disk.name-too-long"
    assert sentence(world, "backup", "") == "option.folder"
