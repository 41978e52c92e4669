"""Hands that send forms to one or several servers at once, over HTTP.

Whoever gets no answer sends the same form again, to whichever server, as a maker does who presses once more, so that in the
end each act was acknowledged, and must stand in the books once.
"""

import http.client
import json
import random
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from threading import Condition, Event, Thread
from time import monotonic
from urllib.parse import urlencode
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django_htmx.http import HTMX_STOP_POLLING
from support_forms import PageForms
from support_soak import PATIENCE_SECONDS, Server, Workroom

__all__ = ["FORMS", "PIECES", "Act", "Load", "under_load"]

PATTERN = Path(__file__).parents[1] / "fixtures" / "patterns" / "underbust.json"
ENDED = "ended from outside"
"""What a page says of a file whose reading was killed."""
MOST_DRAWING_SECONDS = 600
"""Whoever has to wait longer than this for the lays of one quote is stuck."""


@dataclass(kw_only=True)
class Load:
    """What the hands have done so far.

    Attributes:
        acknowledged: acts by kind and name.
        broken: how many forms were broken off under way.
        ended: how many files were handed in again, and how many lays asked for again, since their worker was killed.
        refused: how often a page said that there is a fault, by its status.
    """

    acknowledged: list[tuple[str, str]] = field(default_factory=list)
    broken: int = 0
    ended: Counter[str] = field(default_factory=Counter)
    refused: Counter[int] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    changed: Condition = field(default_factory=Condition)

    def wait_for(self, more: int) -> None:
        """Wait until so many more acts were acknowledged."""
        with self.changed:
            goal = len(self.acknowledged) + more
            came = self.changed.wait_for(lambda: len(self.acknowledged) >= goal or self.faults, PATIENCE_SECONDS)
        assert came, "No act was acknowledged any more: work is stuck."
        assert not self.faults, self.faults

    def note(self, act: tuple[str, str] | None = None, *, ended: str = "", fault: str = "") -> None:
        """Write down what an answer said."""
        with self.changed:
            if act:
                self.acknowledged.append(act)
            if ended:
                self.ended[ended] += 1
            if fault:
                self.faults.append(fault)
            self.changed.notify_all()


@dataclass(frozen=True, kw_only=True)
class Answer:
    """A page, or what a form that was sent came to, headers by their lower-case names; status 0 where no answer came."""

    status: int
    html: str = ""
    headers: Mapping[str, str] = field(default_factory=dict)


@dataclass(kw_only=True)
class Hand:
    """Somebody who sends one form after the other, each until it is answered."""

    ports: Sequence[int]
    workroom: Workroom
    load: Load
    over: Event
    chance: random.Random

    def work(self, acts: Sequence["Act"]) -> None:
        """Act until it is over; then end what was begun."""
        try:
            while not self.over.is_set() and not self.load.faults:
                self.chance.choice(acts)(self)
        except Exception as error:
            self.load.note(fault=repr(error))
            raise

    def act(
        self,
        kind: str,
        page: str,
        has: str,
        fill: Mapping[str, object],
        *,
        begin: Mapping[str, object] | None = None,
        file: tuple[str, str, bytes] | None = None,
    ) -> str:
        """Open a page, fill its form in and send it until it is answered; returns where that led."""
        opened = self.asked(page, begin)
        if opened.status != http.client.OK:
            self.load.note(fault=f"{page}: {opened.status}")
            return ""
        form = PageForms(opened.html, page).that_has(has)
        said = form.with_values(dict(fill))
        name = str(fill.get("name") or fill.get("title") or fill.get("notes") or (form.values.get("key") or [""])[0])
        if file is not None and "name" not in fill:
            name = file[1]
        while True:
            answer = self.asked(form.action, said, file)
            if answer.status == http.client.FOUND:
                self.load.note((kind, name))
                return answer.headers["location"]
            if ENDED not in answer.html:
                self.load.note(fault=f"{kind} {name}: {answer.status} {answer.html[-2000:]}")
                return ""
            self.load.note(ended="reading")

    def draw(self, revision: str, name: str) -> None:
        """Ask for a quote's lays until all are drawn, as its page does: by the worker, or by the site where none is there."""
        address, until = f"{revision}lays/", monotonic() + MOST_DRAWING_SECONDS
        answer, searches = self.asked(address, {"begin": "1"}), list[str]()
        while answer.status in (http.client.OK, HTMX_STOP_POLLING) and monotonic() < until and not self.load.faults:
            searches = re.findall(r'name="search" value="([^"]+)"', answer.html) or searches
            if "hx-refresh" in answer.headers:
                # The page is opened once more, which asks again for what could not be drawn.
                answer, searches = self.asked(address, {"begin": "1"}), []
                if "hx-refresh" in answer.headers:
                    self.load.note(("lay", name))
                    return
                self.load.note(ended="lay")
            elif '"begin"' in answer.html:
                answer, searches = self.asked(address, {"begin": "1"}), []
            elif '"take"' in answer.html:
                answer = self.asked(address, {"take": "1", "search": searches})
            elif searches:
                self._wait()
                answer = self.asked(f"{address}?{urlencode({'search': searches}, doseq=True)}")
            else:
                failed = re.findall(r'name="failed" value="(\w+)"', answer.html)
                answer = self.asked(address, {"failed": failed})
        self.load.note(fault=f"lay {name}: {answer.status}")

    def asked(
        self, path: str, said: Mapping[str, object] | None = None, file: tuple[str, str, bytes] | None = None
    ) -> Answer:
        """Ask until there is an answer. With its database away a page says that there is a fault, which counts as none."""
        while not self.load.faults:
            try:
                answer = self._once(path, said, file)
            except ConnectionRefusedError:
                if self.over.is_set():
                    self.load.note(fault="A server has ended by itself.")
                self._wait()
                continue
            except (OSError, http.client.HTTPException):
                answer = Answer(status=0)
            if 0 < answer.status < http.client.INTERNAL_SERVER_ERROR:
                return answer
            with self.load.changed:
                if answer.status:
                    self.load.refused[answer.status] += 1
                if said is not None:
                    self.load.broken += 1
            self._wait()
        return Answer(status=0)

    def _wait(self) -> None:
        """A breath before the next try."""
        if self.over.wait(0.05):
            Event().wait(0.05)

    def _once(self, path: str, said: Mapping[str, object] | None, file: tuple[str, str, bytes] | None) -> Answer:
        token, port = "t" * 32, self.chance.choice(self.ports)
        headers = {"Cookie": f"sessionid={self.workroom.session}; csrftoken={token}", "Host": f"127.0.0.1:{port}"}
        body: bytes | None = None
        if said is not None and file is None:
            body = urlencode({**said, "csrfmiddlewaretoken": token}, doseq=True).encode()
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        elif said is not None and file is not None:
            field_name, filename, data = file
            upload = SimpleUploadedFile(filename, data)
            body = encode_multipart(BOUNDARY, {**said, "csrfmiddlewaretoken": token, field_name: upload})
            headers["Content-Type"] = MULTIPART_CONTENT
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_SECONDS)
        try:
            connection.request("POST" if body is not None else "GET", path, body, headers)
            answer = connection.getresponse()
            told = {name.lower(): words for name, words in answer.getheaders()}
            return Answer(status=answer.status, html=answer.read().decode(), headers=told)
        finally:
            connection.close()


Act = Callable[[Hand], object]


@contextmanager
def under_load(
    servers: Sequence[Server], workroom: Workroom, acts: Sequence[Act], *, seed: int, hands: int = 4
) -> Iterator[Load]:
    """Hands at work until the end of the block; then each sends its last form until it is answered."""
    load, over = Load(), Event()
    ports = [server.port for server in servers]
    threads = []
    for number in range(hands):
        chance = random.Random(seed + number)
        hand = Hand(ports=ports, workroom=workroom, load=load, over=over, chance=chance)
        threads.append(Thread(target=hand.work, args=(acts,), daemon=True))
    for thread in threads:
        thread.start()
    try:
        yield load
    finally:
        over.set()
        for thread in threads:
            thread.join(PATIENCE_SECONDS)
    assert not any(thread.is_alive() for thread in threads), "A form was never answered: work is stuck."
    assert not load.faults, load.faults


def _client(hand: Hand) -> None:
    hand.act("client", "/clients/new/", "name", {"name": f"act {uuid4()}"})


def _measure(hand: Hand) -> None:
    said = {"waist.1": "72", "underbust.1": "80", "notes": f"act {uuid4()}"}
    hand.act("measure", f"/clients/{hand.workroom.client}/measures/", "waist.1", said)


def _issue(hand: Hand) -> None:
    said = {"quantity": "0.001", "job": "for:sample"}
    hand.act("issue", f"/shelf/lots/{hand.workroom.lot}/issue/", "quantity", said)


def _order(hand: Hand) -> None:
    packs = f"packs_{hand.workroom.offer}"
    hand.act("order", "/shelf/orders/new/", packs, {packs: "1"}, begin={"supplier": "fennimore"})


def _sheet(hand: Hand) -> None:
    """A maker's own table, read by a worker."""
    sheet = b"name;kind;price\nTwill;waist tape;0.95\n"
    hand.act("sheet", "/shelf/import/", "file", {}, file=("file", f"act-{uuid4()}.csv", sheet))


def _piece(hand: Hand) -> None:
    """A pattern's file, read by a worker; a quote from it; its lays, drawn by workers. No two pieces are of one size."""
    name, size = f"act {uuid4()}", hand.chance.uniform(0.95, 1.05)
    file = ("file", "underbust.json", json.dumps(_scaled(json.loads(PATTERN.read_bytes()), size)).encode())
    pattern = re.findall(r"\d+", hand.act("pattern", "/patterns/new/", "name", {"name": name}, file=file))
    if not pattern:
        return
    said = {"title": name, "new_client": name.removeprefix("act "), "pattern_from": "kept", "pattern": pattern[0]}
    where = hand.act("quote", f"/quotes/new/?key={uuid4()}", "title", {**said, "cloth_outer": "coutil-white"})
    if where:
        hand.draw(where, name)


def _scaled(value: object, size: float) -> object:
    """The outlines of a pattern, larger or smaller; numbers of panels stay."""
    if isinstance(value, dict):
        return {key: _scaled(entry, size) for key, entry in value.items()}
    if isinstance(value, list):
        return [_scaled(entry, size) for entry in value]
    return value * size if isinstance(value, float) else value


FORMS: tuple[Act, ...] = (_client, _measure, _issue, _order)
"""What is done within a moment, by the server itself."""
PIECES: tuple[Act, ...] = (_client, _issue, _sheet, _piece)
"""What workers do for the server, beside what it does itself."""
