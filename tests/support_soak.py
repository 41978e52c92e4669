"""A workroom whose sites are killed again and again while hands send forms to them (`support_hands`)."""

import json
import os
import signal
import socket
import subprocess
import sys
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from support_processes import PROJECT, migrated, python, said

__all__ = ["DRAWER", "PARTS", "WORKERS", "Server", "Workroom", "books_of", "made", "no_worker_is_left"]

PATIENCE_SECONDS = 120
"""What lasts longer counts as stuck."""
WORKERS = {"answer_request": "reading", "quotes.lay.packer": "lay"}
"""What stands in the command line of a process that works for the site, and what it does."""
DRAWER = "drawer"
"""What the process does that starts those that draw lays; it lives as long as its site."""
MAKE = """
import django; django.setup()
import json
from django.contrib.auth.models import User
from django.test import Client as Browser
from inventory.models import StockItem
from quotes.models import Client
from studio.demo import shelf, workroom
from support_shelf import SupplierFactory, offered, stocked
workroom.load(); workroom.new_rates(); shelf.load(); shelf.new_list()
browser = Browser()
browser.force_login(User.objects.create_user("maker", password="pins and chalk"))
coutil = StockItem.objects.get(code="coutil-white")
offer = offered(SupplierFactory(code="fennimore"), coutil, 1)
lot = stocked(coutil, 900_000_000, 90_000_000)
made = {"session": browser.session.session_key, "lot": lot.pk, "offer": offer.pk}
print(json.dumps({**made, "client": Client.objects.create(name="Odile Farrant").pk}))
"""
TELL = """
import django; django.setup()
import json
from django.db.models import Count
from inventory.models import ImportSheet, Movement, PurchaseOrder, Posting
from quotes.commission.quote import option_lays
from quotes.desk.figures import commission_of
from quotes.desk.kept_lays import DRAWN, kept_lays
from quotes.models import Client, DrawnLay, KeptPattern, MeasurementSet, Quote, QuoteRevision
def drawn(revision):
    problems = option_lays(commission_of(revision.inputs, revision.pattern))
    return int(len(kept_lays(problems)) == len(problems) and bool(revision.snapshot.drawings.lays))
rows = {
    "client": list(Client.objects.filter(name__startswith="act ").values_list("name", "may_photograph")),
    "measure": list(MeasurementSet.objects.annotate(n=Count("measures")).values_list("notes", "n")),
    "issue": list(Posting.objects.filter(kind="issue").annotate(n=Count("movements")).values_list("key", "n")),
    "order": list(PurchaseOrder.objects.annotate(n=Count("lines")).values_list("key", "n")),
    "pattern": list(KeptPattern.objects.annotate(n=Count("revisions")).values_list("name", "n")),
    "sheet": [(name, len(found)) for name, found in ImportSheet.objects.values_list("filename", "rows")],
    "quote": list(Quote.objects.annotate(n=Count("revisions")).values_list("title", "n")),
    "lay": [(row.quote.title, drawn(row)) for row in QuoteRevision.objects.select_related("quote", "pattern")],
}
assert not [lay.pk for lay in DrawnLay.objects.all() if DRAWN.read(lay.plan).has_failed]
print(json.dumps({kind: [[str(name), int(parts)] for name, parts in found] for kind, found in rows.items()}))
"""
PARTS = {"client": 0, "measure": 2, "issue": 1, "order": 1, "pattern": 1, "sheet": 2, "quote": 1, "lay": 1}
"""How many rows belong to what each kind of act makes; fewer are half a document. A lay counts once all of a quote are drawn."""


@dataclass(frozen=True, kw_only=True)
class Workroom:
    """What the hands begin from: a session, a lot, an offer and a client by their numbers."""

    session: str
    lot: int
    offer: int
    client: int


def made(world: dict[str, str]) -> Workroom:
    """A migrated database with a workroom in it."""
    migrated(world)
    return Workroom(**json.loads(said(python(world, "-c", MAKE))))


def books_of(world: dict[str, str]) -> dict[str, list[list[object]]]:
    """What the books hold of the hands' acts, by kind: names and how many rows belong to each."""
    told: dict[str, list[list[object]]] = json.loads(said(python(world, "-c", TELL), within_seconds=600))
    return told


class Server:
    """The site, served on a port of its own by a process that can be killed and started again."""

    def __init__(self, world: dict[str, str]) -> None:
        self.world = world
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        self.process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        """Serve, and return once it answers."""
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", "serve", "--no-idle-lays", "--port", str(self.port)],
            env=self.world,
            cwd=PROJECT,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        assert self.process.stdout is not None
        assert "answers at" in self.process.stdout.readline()

    def kill(self) -> None:
        """End it as a power cut does: at once, with nothing said."""
        assert self.process is not None
        assert self.process.poll() is None, f"The server ended by itself, with {self.process.returncode}."
        self.process.kill()
        self.process.communicate()

    def kill_worker(self, work: str) -> None:
        """Wait until a process does such work for this site (a value of `WORKERS`, or `DRAWER`), and end it in the middle of it."""
        assert self.process is not None
        until = time.monotonic() + PATIENCE_SECONDS
        while time.monotonic() < until:
            found = _workers(self.world)
            own = {pid for pid, parent, does in found if (parent, does) == (self.process.pid, DRAWER)}
            own.add(self.process.pid)
            pid = next((pid for pid, parent, does in found if parent in own and does == work), None)
            # One that has just ended is none.
            with suppress(ProcessLookupError):
                if pid is not None:
                    os.kill(pid, signal.SIGKILL)
                    return
            os.sched_yield()
        raise AssertionError(f"No {work} any more: work is stuck.")


def no_worker_is_left(world: dict[str, str]) -> None:
    """Wait until every process has ended that worked for a site, also for one that was killed meanwhile."""
    until = time.monotonic() + PATIENCE_SECONDS
    while left := [row for row in _workers(world) if row[2] != DRAWER]:
        assert time.monotonic() < until, f"Stuck: {left}"
        os.sched_yield()


def _workers(world: dict[str, str]) -> list[tuple[int, int, str]]:
    """The processes that read files or draw lays for the sites of a world: number, parent's number, work."""
    own, found = f"STUDIO_DATA={world['STUDIO_DATA']}\0".encode(), []
    for process in Path("/proc").glob("[0-9]*"):
        try:
            words = (process / "cmdline").read_bytes().decode(errors="replace")
            work = next((work for mark, work in {**WORKERS, "lay_worker": DRAWER}.items() if mark in words), None)
            if work is None or own not in (process / "environ").read_bytes() + b"\0":
                continue
            parent = int((process / "stat").read_text().rpartition(")")[2].split()[1])
        except OSError:
            continue
        found.append((int(process.name), parent, work))
    return found
