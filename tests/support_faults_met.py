"""What a maker meets when the machine fails while the site is up: a program on the books in STUDIO_DATA, a fault its argument.

Prints for each request its name, status and page, and what the books hold afterwards.
"""

import errno
import json
import os
import sys
from pathlib import Path
from typing import Any
from unittest import mock

import django
import psycopg
import pysqlite3
from django.core.files.uploadedfile import SimpleUploadedFile

WORDS = "x" * 100_000
"""More than the pages hold that are left on a full disk."""
MOST_ACTS = 500


class Met:
    """A browser that is logged in, and what it met."""

    def __init__(self) -> None:
        from django.conf import settings
        from django.contrib.auth.models import User
        from django.test import Client as Browser

        from quotes.models import Client

        settings.ALLOWED_HOSTS = ["testserver"]
        self.client = Client.objects.create(name="Odile Farrant")
        self.browser = Browser(raise_request_exception=False)
        self.browser.force_login(User.objects.create_user("maker"))
        self.answers: dict[str, tuple[int, str]] = {}
        self.books: dict[str, int] = {}

    def reads(self, name: str, **headers: Any) -> None:
        self._keep(name, self.browser.get(f"/clients/{self.client.pk}/", **headers))

    def writes(self, name: str, **headers: Any) -> None:
        form = {"name": self.client.name, "language": "en", "notes": WORDS}
        self._keep(name, self.browser.post(f"/clients/{self.client.pk}/edit/", form, **headers))

    def photographs(self, name: str, picture: bytes) -> None:
        from inventory.models import StockMaterial

        material = StockMaterial.objects.get(code="cord")
        form = {
            "name": material.name,
            "code": "cord",
            "kind": "cord",
            "unit_cost": "1.15",
            "pack": "1",
            "step_mm": "10",
        }
        form |= {"usable_width_mm": "1400", "shrinkage_percent": "0", "sort_order": "0"}
        sent = SimpleUploadedFile("cord.jpg", picture, "image/jpeg")
        self._keep(name, self.browser.post("/shelf/materials/cord/", {**form, "photo": sent}))

    def notes(self) -> int:
        """How long the client's notes are in the books, where they can be read."""
        from django.db import DatabaseError

        try:
            self.client.refresh_from_db()
        except DatabaseError:
            return 0
        return len(self.client.notes)

    def _keep(self, name: str, response: Any) -> None:
        from django.db import close_old_connections

        self.answers[name] = response.status_code, response.content.decode()
        # As the server does when a request is over, and a test's browser does not.
        close_old_connections()


def asked(statement: str) -> Any:
    """The rows that the database answers on the connection of the site."""
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(statement)
        return cursor.fetchall()


def full(met: Met) -> None:
    """The database may grow by eight pages; stock is received until it does not fit, then a form is sent."""
    from django.db import DatabaseError
    from support_shelf import item, stocked

    from inventory.models import Posting
    from inventory.stock.audit import audit

    cord = item("cord")
    ((pages,),) = asked("PRAGMA page_count")
    asked(f"PRAGMA max_page_count = {pages + 8}")
    acknowledged = 0
    try:
        for _ in range(MOST_ACTS):
            stocked(cord, 5000, 500)
            acknowledged += 1
    except DatabaseError:
        met.books["received"] = acknowledged
    met.writes("write")
    met.reads("read")
    met.writes("write a part", headers={"HX-Request": "true"})
    met.books |= {"postings": Posting.objects.count(), "differences": len(audit().differences)}
    asked("PRAGMA max_page_count = 1000000")
    met.writes("write when mended")


def full_disk(met: Met) -> None:
    """The disk of the data folder is filled to its last block; stock is received, a photograph and a form are sent."""
    from django.conf import settings
    from django.db import DatabaseError, connection
    from support_pictures import photograph
    from support_shelf import item, stocked
    from support_small_disk import emptied, filled

    from inventory.models import Posting
    from inventory.stock.audit import audit

    cord = item("cord", material__code="cord")
    stocked(cord, 5000, 500)
    filled(settings.DATA_DIR)
    acknowledged = 1
    try:
        for _ in range(MOST_ACTS):
            stocked(cord, 5000, 500)
            acknowledged += 1
    except DatabaseError:
        met.books["received"] = acknowledged
    picture = photograph("JPEG")
    met.writes("write")
    met.reads("read")
    met.photographs("photograph", picture)
    connection.close()
    filled(settings.DATA_DIR)
    met.reads("read on a new connection")
    met.writes("write on a new connection")
    met.books["photographs when full"] = len(list(settings.MEDIA_ROOT.rglob("*.*")))
    emptied(settings.DATA_DIR)
    met.books |= {"postings": Posting.objects.count(), "differences": len(audit().differences)}
    met.writes("write when mended")
    met.photographs("photograph when mended", picture)
    met.books["photographs"] = len(list(settings.MEDIA_ROOT.rglob("*.*")))


def read_only(met: Met) -> None:
    """SQLite refuses to write as it does on a file that may only be read."""
    asked("PRAGMA query_only = ON")
    met.writes("write")
    met.reads("read")
    asked("PRAGMA query_only = OFF")
    met.writes("write when mended")


def locked(met: Met) -> None:
    """Another program holds the books and does not let go."""
    from django.conf import settings

    asked("PRAGMA busy_timeout = 10")
    # By the library of the site: locks of two libraries in one process do not meet.
    holder = pysqlite3.connect(settings.DATABASES["default"]["NAME"], isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    met.writes("write")
    met.reads("read")
    holder.close()
    met.writes("write when mended")


def damaged(met: Met) -> None:
    """Noise stands where the tables stood, and the site opens the file anew."""
    from django.conf import settings
    from django.db import connection
    from support_faults import overwritten

    asked("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    overwritten(Path(settings.DATABASES["default"]["NAME"]), after=4096)
    met.writes("write")
    met.reads("read")


def behind(met: Met) -> None:
    """A table that this version needs is not there."""
    asked("ALTER TABLE quotes_client RENAME TO quotes_earlier")
    met.reads("read")
    met.reads("read a part", headers={"HX-Request": "true"})


def disk(met: Met) -> None:
    """The system refuses a file: no space, no right, a disk that is mounted to be read."""
    from quotes.models import Client

    for number in (errno.ENOSPC, errno.EACCES, errno.EROFS):
        with mock.patch.object(Client, "save", side_effect=OSError(number, os.strerror(number), "/data/x.jpg")):
            met.writes(errno.errorcode[number])


def ours(met: Met) -> None:
    """A slip of the program is no fault of the machine."""
    from quotes.models import Client

    with mock.patch.object(Client, "save", side_effect=ZeroDivisionError):
        met.writes("write")


def dropped(met: Met) -> None:
    """PostgreSQL ends the connection in the middle of a reading and of an act; then it is not there at all."""
    from django.db import connection

    from quotes.clients import views

    ends = [True]
    found = views.get_object_or_404

    def end_first(*args: Any, **kwargs: Any) -> Any:
        if ends:
            ends.pop()
            with psycopg.connect(os.environ["DATABASE_URL"], autocommit=True) as other:
                other.execute("SELECT pg_terminate_backend(%s, 5000)", [connection.connection.info.backend_pid])
        return found(*args, **kwargs)

    with mock.patch.object(views, "get_object_or_404", end_first):
        met.reads("read")
        ends.append(True)
        met.writes("write")
    met.books["notes"] = met.notes()
    met.writes("write when mended")
    connection.close()
    with mock.patch.dict(connection.settings_dict, PORT="1"):
        met.reads("read without a server")
        met.writes("write without a server")
    met.reads("read when it is there again")


if __name__ == "__main__":
    django.setup()
    met = Met()
    globals()[sys.argv[1]](met)
    sys.stdout.write(json.dumps({"answers": met.answers, "notes": met.notes(), "books": met.books}))
