"""A workroom under load whose server, or whose database's, is killed again and again.

Hands send forms over HTTP. Whoever gets no answer sends the same form again, as a maker does who presses once more, so that
in the end each act was acknowledged, and must stand in the books once.
"""

import http.client
import json
import random
import socket
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Condition, Event, Thread
from urllib.parse import urlencode
from uuid import uuid4

from support_forms import PageForms
from support_processes import PROJECT, python, said

__all__ = ["Load", "Server", "Workroom", "books_of", "made", "under_load"]

HANDS = 4
ANSWER_SECONDS = 60
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
from inventory.models import Movement, PurchaseOrder, Posting
from quotes.models import Client, MeasurementSet
rows = {
    "client": list(Client.objects.filter(name__startswith="act ").values_list("name", "may_photograph")),
    "measure": list(MeasurementSet.objects.annotate(n=Count("measures")).values_list("notes", "n")),
    "issue": list(Posting.objects.filter(kind="issue").annotate(n=Count("movements")).values_list("key", "n")),
    "order": list(PurchaseOrder.objects.annotate(n=Count("lines")).values_list("key", "n")),
}
print(json.dumps({kind: [[str(name), int(parts)] for name, parts in found] for kind, found in rows.items()}))
"""
PARTS = {"client": 0, "measure": 2, "issue": 1, "order": 1}
"""How many rows belong to what each kind of act makes; fewer are half a document."""


@dataclass(frozen=True, kw_only=True)
class Workroom:
    """What the hands begin from: a session, a lot, an offer and a client by their numbers."""

    session: str
    lot: int
    offer: int
    client: int


@dataclass(kw_only=True)
class Load:
    """What the hands have done so far: acknowledged acts by kind and name, and how many forms were broken off under way."""

    acknowledged: list[tuple[str, str]] = field(default_factory=list)
    broken: int = 0
    faults: list[str] = field(default_factory=list)
    changed: Condition = field(default_factory=Condition)

    def wait_for(self, more: int) -> None:
        """Wait until so many more acts were acknowledged."""
        with self.changed:
            goal = len(self.acknowledged) + more
            came = self.changed.wait_for(lambda: len(self.acknowledged) >= goal or self.faults, ANSWER_SECONDS)
        assert came, "No act was acknowledged any more: work is stuck."
        assert not self.faults, self.faults


def made(world: dict[str, str]) -> Workroom:
    """A migrated database with a workroom in it."""
    said(python(world, "manage.py", "migrate", "--verbosity", "0"))
    return Workroom(**json.loads(said(python(world, "-c", MAKE))))


def books_of(world: dict[str, str]) -> dict[str, list[list[object]]]:
    """What the books hold of the hands' acts, by kind: names and how many rows belong to each."""
    told: dict[str, list[list[object]]] = json.loads(said(python(world, "-c", TELL)))
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
            [sys.executable, "manage.py", "serve", "--port", str(self.port)],
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
        self.process.kill()
        self.process.communicate()


@contextmanager
def under_load(server: Server, workroom: Workroom, *, seed: int) -> Iterator[Load]:
    """Hands at work until the end of the block; then each sends its last form until it is answered."""
    load, over = Load(), Event()
    hands = [
        Thread(target=_work, args=(server.port, workroom, load, over, random.Random(seed + number)), daemon=True)
        for number in range(HANDS)
    ]
    for hand in hands:
        hand.start()
    try:
        yield load
    finally:
        over.set()
        for hand in hands:
            hand.join(ANSWER_SECONDS)
    assert not any(hand.is_alive() for hand in hands), "A form was never answered: work is stuck."
    assert not load.faults, load.faults


def _work(port: int, workroom: Workroom, load: Load, over: Event, chance: random.Random) -> None:
    while not over.is_set() and not load.faults:
        kind = chance.choice(sorted(_FORMS))
        try:
            page, begin, has, fill = _FORMS[kind](workroom)
            status, html = _ask(port, workroom, page, begin)
        except (OSError, http.client.HTTPException):
            status, html = 0, ""
        if status != http.client.OK:
            _wait(over)
            continue
        form = PageForms(html, page).that_has(has)
        said = form.with_values(fill)
        name = str(fill.get("name") or fill.get("notes") or form.values["key"][0])
        _send(port, workroom, load, (kind, name), form.action, said, over)


def _send(
    port: int, workroom: Workroom, load: Load, act: tuple[str, str], action: str, said: dict[str, object], over: Event
) -> None:
    """Send a form until it is answered."""
    while True:
        try:
            status, html = _ask(port, workroom, action, said)
        except ConnectionRefusedError:
            _wait(over)
            continue
        except (OSError, http.client.HTTPException):
            status, html = 0, ""
        # With its database away a page says that there is a fault; what was asked for then is not acknowledged.
        is_broken = status == 0 or status >= http.client.INTERNAL_SERVER_ERROR
        with load.changed:
            if status == http.client.FOUND:
                load.acknowledged.append(act)
            elif is_broken:
                load.broken += 1
            else:
                load.faults.append(f"{act}: {status} {html[-400:]}")
            load.changed.notify_all()
        if not is_broken:
            return
        _wait(over)


def _wait(over: Event) -> None:
    """A breath before the next try."""
    if over.wait(0.05):
        Event().wait(0.05)


def _ask(port: int, workroom: Workroom, path: str, said: dict[str, object] | None) -> tuple[int, str]:
    """A page, or what a form that was sent came to: status and text."""
    token = "t" * 32
    headers = {"Cookie": f"sessionid={workroom.session}; csrftoken={token}", "Host": f"127.0.0.1:{port}"}
    body = None
    if said is not None:
        body = urlencode({**said, "csrfmiddlewaretoken": token}, doseq=True)
        headers["Content-Type"] = "application/x-www-form-urlencoded"
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=ANSWER_SECONDS)
    try:
        connection.request("POST" if body is not None else "GET", path, body, headers)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()
    finally:
        connection.close()


_Form = tuple[str, dict[str, object] | None, str, dict[str, object]]


def _client(workroom: Workroom) -> _Form:
    return "/clients/new/", None, "name", {"name": f"act {uuid4()}"}


def _measure(workroom: Workroom) -> _Form:
    said: dict[str, object] = {"waist.1": "72", "underbust.1": "80", "notes": f"act {uuid4()}"}
    return f"/clients/{workroom.client}/measures/", None, "waist.1", said


def _issue(workroom: Workroom) -> _Form:
    return f"/shelf/lots/{workroom.lot}/issue/", None, "quantity", {"quantity": "0.001", "job": "for:sample"}


def _order(workroom: Workroom) -> _Form:
    packs = f"packs_{workroom.offer}"
    return "/shelf/orders/new/", {"supplier": "fennimore"}, packs, {packs: "1"}


_FORMS: dict[str, Callable[[Workroom], _Form]] = {
    "client": _client,
    "measure": _measure,
    "issue": _issue,
    "order": _order,
}
