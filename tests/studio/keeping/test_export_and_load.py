"""Everything taken along and loaded elsewhere is the same: byte for byte exported again, the audit and the offers too.

Outside: RFC 4180 (CSV as the standard library reads it), the PDF header of ISO 32000, well-formed XML as the standard
library reads it.
"""

import csv
import json
import shutil
from hashlib import sha256
from pathlib import Path
from xml.etree import ElementTree

import pytest
from support_keeping import command, sentence, tell
from support_processes import is_postgresql, migrated

BOOKS = """
from datetime import timedelta
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.utils import timezone
from support_books import agreed, finished
from support_patterns import block_a
from inventory.ground.pictures import Picture
from inventory.models import StockMaterial
from inventory.shelf.pictures import keep_picture
from quotes.desk.quoting import offer_of_today, send, start_quote
from quotes.models import Client
from quotes.patterns.kept_patterns import keep_block
from quotes.seal.snapshot import offer_fingerprint
from studio.demo import shelf, workroom
from studio.models import JobPhoto
user = User.objects.create_user("maker", password="pins and chalk")
workroom.load(); workroom.new_rates(); shelf.load(); shelf.new_list()
pattern = keep_block(block=block_a(), user=user)
job = finished(agreed(pattern, user), user, on=timezone.localdate(), speed=1.1)
agreed(pattern, user, client='=HYPERLINK("x")', title="Ein Mieder, “eng”\\nmit Zeile")
JobPhoto(job=job).photo.save("inside.jpg", ContentFile(b"a photograph"))
material = StockMaterial.objects.first()
material.photo.save("swatch.png", ContentFile(b"a swatch"))
keep_picture(Picture(kind="png", data=bytes(range(256))))
print(json.dumps(job.reference))
"""
OFFERS = """
from quotes.models import QuoteRevision
print(json.dumps([[r.fingerprint, r.sent_at.isoformat(), json.dumps(r.figures)] for r in QuoteRevision.objects.order_by("pk")]))
"""
LOGS_IN = """
from django.contrib.auth import authenticate
from django.http import HttpRequest
print(json.dumps(authenticate(HttpRequest(), username="maker", password="pins and chalk") is not None))
"""
ONE_MORE = """
from inventory.models import StockMaterial
print(json.dumps(StockMaterial.objects.create(code="new", name="New", kind="cord", unit_cost_millionths=1).pk))
"""
BARE = """
from django.db import DatabaseError
from inventory.models import Posting
try:
    Posting.objects.update(why="other")
    print(json.dumps("changed"))
except DatabaseError as error:
    print(json.dumps(str(error).splitlines()[0]))
"""


def exported(world: dict[str, str], folder: Path) -> dict[str, str]:
    """The digests of what an export wrote, but for its manifest."""
    code, document = command(world, "export", folder)
    assert code == 0, document
    assert document["findings"] == []
    return digests(folder)


def digests(folder: Path) -> dict[str, str]:
    paths = [path for path in folder.rglob("*") if path.is_file() and path.name != "manifest.json"]
    return {str(path.relative_to(folder)): sha256(path.read_bytes()).hexdigest() for path in paths}


def emptied(world: dict[str, str], tmp_path: Path) -> dict[str, str]:
    """Another installation, with nothing in it: another folder; on a server, its database dropped and made anew."""
    other = {**world, "STUDIO_DATA": str(tmp_path / "other")}
    (tmp_path / "other").mkdir()
    if is_postgresql():
        tell(world, _ANEW)
    migrated(other)
    return other


_ANEW = """
from django.db import connection
with connection.cursor() as cursor:
    cursor.execute("DROP SCHEMA public CASCADE; CREATE SCHEMA public")
print(0)
"""


def test_exported_loaded_and_exported_again_is_the_same(world: dict[str, str], tmp_path: Path):
    migrated(world)
    tell(world, BOOKS)
    first = exported(world, tmp_path / "first")
    offers, audited = tell(world, OFFERS), command(world, "audit")[1]
    assert audited["differences"] == []
    assert [len(offers) > 1, audited["checked"]["movements"] > 10] == [True, True]

    other = emptied(world, tmp_path)
    code, document = command(other, "load", tmp_path / "first")
    assert code == 0, document
    assert document["photographs"] == 2
    assert command(other, "audit")[1] == audited
    assert tell(other, OFFERS) == offers
    assert exported(other, tmp_path / "second") == first
    manifests = [json.loads((tmp_path / name / "manifest.json").read_text()) for name in ("first", "second")]
    for manifest in manifests:
        del manifest["made_at"]
    assert manifests[0] == manifests[1]
    # One goes on working there: one logs in, new rows are numbered on, the guards stand.
    assert tell(other, LOGS_IN) is True
    assert tell(other, ONE_MORE) > 1
    assert "never changed" in tell(other, BARE)

    of_kinds(tmp_path / "first")
    assert sentence(other, "load", tmp_path / "first") == "load.not-empty"
    assert sentence(other, "export", tmp_path / "first") == "export.not-empty"


def of_kinds(folder: Path) -> None:
    """What stands in an export can be read by other programs."""
    with (folder / "tables/quotes_client.csv").open(encoding="utf-8-sig", newline="") as file:
        header, *rows = csv.reader(file)
    assert sorted(row[header.index("name")] for row in rows) == ['\'=HYPERLINK("x")', "Odile Farrant"]
    offers = sorted(folder.glob("offers/*.pdf"))
    assert len(offers) == 2
    assert all(path.read_bytes().startswith(b"%PDF-") for path in offers)
    drawings = sorted(folder.glob("drawings/*.svg"))
    assert {ElementTree.parse(path).getroot().tag for path in drawings} == {"{http://www.w3.org/2000/svg}svg"}
    assert len(drawings) > len(offers)
    documents = [json.loads(path.read_text()) for path in folder.glob("documents/*.json")]
    assert len(documents) > len(offers)
    assert sorted(path.read_bytes() for path in folder.glob("photographs/*/*")) == [b"a photograph", b"a swatch"]
    assert [path.read_bytes() for path in folder.glob("pictures/*.png")] == [bytes(range(256))]


def test_what_cannot_be_loaded_loads_nothing(world: dict[str, str], tmp_path: Path):
    migrated(world)
    exported(world, tmp_path / "whole")
    broken = tmp_path / "broken"
    refused = {}
    for name, change in CHANGES.items():
        shutil.rmtree(broken, ignore_errors=True)
        shutil.copytree(tmp_path / "whole", broken)
        change(broken)
        refused[name] = sentence(world, "load", broken)
    assert refused == {
        "damaged": "export.damaged",
        "of another version": "load.schema",
        "no JSON": "load.row",
        "another column": "load.row",
        "no such value": "load.row",
        "twice": "load.row",
        "beyond all numbers": "load.row",
        "one row less": "load.counts",
        "points nowhere": "load.broken-link",
    }
    assert sentence(world, "load", tmp_path / "nowhere") == "export.not-found"
    # Nothing of all that stayed.
    assert exported(world, tmp_path / "after") == digests(tmp_path / "whole")


def rows_changed(folder: Path, table: str, old: str, new: str) -> None:
    """Change a table's rows, and let the manifest say what they are now."""
    path = folder / f"rows/{table}.jsonl"
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new, 1))
    manifest = json.loads((folder / "manifest.json").read_text())
    (file,) = (file for file in manifest["files"] if file["name"] == f"rows/{table}.jsonl")
    file.update(bytes=path.stat().st_size, sha256=sha256(path.read_bytes()).hexdigest())
    (folder / "manifest.json").write_text(json.dumps(manifest))


def other_schema(folder: Path) -> None:
    text = (folder / "manifest.json").read_text()
    manifest = json.loads(text)
    manifest["schema"]["studio"] = "0001_initial"
    (folder / "manifest.json").write_text(json.dumps(manifest))


def first_line_twice(folder: Path) -> None:
    line = (folder / "rows/django_content_type.jsonl").read_text().splitlines(keepends=True)[0]
    rows_changed(folder, "django_content_type", line, line * 2)


def last_line_less(folder: Path) -> None:
    line = (folder / "rows/auth_permission.jsonl").read_text().splitlines(keepends=True)[-1]
    rows_changed(folder, "auth_permission", line, "")


CHANGES = {
    "damaged": lambda folder: (folder / "rows/auth_user.jsonl").write_text("{}\n"),
    "of another version": other_schema,
    "no JSON": lambda folder: rows_changed(folder, "quotes_workroom", "{", "{{"),
    "another column": lambda folder: rows_changed(folder, "quotes_workroom", '"id"', '"number"'),
    "no such value": lambda folder: rows_changed(folder, "django_content_type", '"id": 1,', '"id": "one",'),
    "twice": first_line_twice,
    "beyond all numbers": lambda folder: rows_changed(folder, "django_content_type", '"id": 1,', f'"id": {2**70},'),
    "one row less": last_line_less,
    "points nowhere": lambda folder: rows_changed(
        folder, "auth_permission", '"content_type_id": 1,', '"content_type_id": 9999,'
    ),
}


ONE_PHOTOGRAPH = """
from django.core.files.base import ContentFile
from inventory.models import StockMaterial
cord = StockMaterial.objects.create(code="cord", name="Cord", kind="cord", unit_cost_millionths=1)
cord.photo.save("cord.png", ContentFile(b"a picture"))
print(0)
"""
FULL_AT_THE_END = """
from pathlib import Path
from django.db import DatabaseError, connection
from studio.keeping.loading import load
def full():
    raise DatabaseError("database or disk is full")
connection.commit = full
try:
    load(Path("%s"))
    print(json.dumps("loaded"))
except DatabaseError:
    print(json.dumps("refused"))
"""


def test_a_disk_that_is_full_when_all_is_to_count_leaves_nothing(world: dict[str, str], tmp_path: Path):
    (migrated(world) / "time-zone").write_text("Europe/Lisbon\n")
    tell(world, ONE_PHOTOGRAPH)
    exported(world, tmp_path / "out")
    other = emptied(world, tmp_path)
    assert tell(other, FULL_AT_THE_END % (tmp_path / "out")) == "refused"
    assert not (tmp_path / "other" / "photographs").exists()
    assert not (tmp_path / "other" / "time-zone").exists()
    code, document = command(other, "load", tmp_path / "out")
    assert code == 0, document
    assert (tmp_path / "other" / "time-zone").read_text() == "Europe/Lisbon\n"


@pytest.mark.skipif(is_postgresql(), reason="books in SQLite alone can be missing")
def test_before_the_first_migration_it_is_said_in_one_sentence(world: dict[str, str], tmp_path: Path):
    assert sentence(world, "export", tmp_path / "out") == "database.not-migrated"
    assert sentence(world, "backup") == "database.not-migrated"
    (Path(world["STUDIO_DATA"]) / "studio.sqlite3").unlink()
    assert sentence(world, "backup") == "database.not-migrated"
    assert not (tmp_path / "out").exists()
    migrated(world)
    exported(world, tmp_path / "out")
    assert (
        sentence({**world, "STUDIO_DATA": str(tmp_path / "new")}, "load", tmp_path / "out") == "database.not-migrated"
    )
