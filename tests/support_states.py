"""States of the books that many tests begin with: built once by each process, then copied into the database as a whole.

The use cases take half a second to build what SQLite copies in a few milliseconds. On PostgreSQL every test builds its own.
"""

import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.utils import timezone
from support_bench import new_job
from support_books import OPTION
from support_patterns import block_a
from support_whole_site import fill_site

from quotes.desk.quoting import offer_of_today, send, start_quote
from quotes.models import Client, PatternRevision, QuoteRevision
from quotes.patterns.kept_patterns import keep_block
from quotes.seal.snapshot import offer_fingerprint
from studio.demo import shelf, workroom

__all__ = ["kept_states", "load_books", "send_draft", "start_draft", "state_asked_for"]


def load_books() -> User:
    """A workroom with rates and a shelf of materials; returns its maker."""
    maker = User.objects.filter(username="maker").first() or User.objects.create_user(
        "maker", password="pins and chalk"
    )
    workroom.load()
    workroom.new_rates()
    shelf.load()
    shelf.new_list()
    return maker


def start_draft(pattern: PatternRevision, option: dict[str, Any], user: User) -> QuoteRevision:
    """A draft of one option for a new client."""
    client = Client(name="Odile Farrant")
    return start_quote(client=client, title="Underbust", due=None, pattern=pattern, options=[option], user=user)


def send_draft(draft: QuoteRevision, user: User) -> QuoteRevision:
    """The draft sent as it stands, open for two weeks."""
    seen = offer_fingerprint(offer_of_today(draft))
    return send(revision=draft, valid_until=timezone.localdate() + timedelta(days=14), seen=seen, user=user)


@dataclass(frozen=True, slots=True)
class State:
    """How a fixture's state comes from the state of the fixture it begins with."""

    begins_with: str
    build: Callable[[], object]


def _maker() -> User:
    return User.objects.get(username="maker")


def _pattern() -> PatternRevision:
    return PatternRevision.objects.get()


STATES: Mapping[str, State] = {
    "books": State("", load_books),
    "pattern": State("books", lambda: keep_block(block=block_a(), user=_maker())),
    "open_job": State("pattern", lambda: new_job(_maker(), _pattern(), OPTION)),
    "draft": State("pattern", lambda: start_draft(_pattern(), OPTION, _maker())),
    "sent": State("draft", lambda: send_draft(QuoteRevision.objects.get(), _maker())),
    "whole_site": State("draft", lambda: fill_site(QuoteRevision.objects.get())),
}
"""By the fixture that hands them out, the later ones built upon the earlier."""


@dataclass(slots=True)
class KeptStates:
    """The copies of one process, each of one day (the empty one of any), and which of them the database holds."""

    copies: dict[tuple[str, date], sqlite3.Connection] = field(default_factory=dict)
    standing: tuple[str, date] | None = None

    def holds(self, fixture: str) -> bool:
        """Whether the database began this test with the state of a fixture."""
        state = self.standing[0] if self.standing else ""
        while state and state != fixture:
            state = STATES[state].begins_with
        return state == fixture

    def stand(self, state: str) -> None:
        """Have the database hold a state, "" for the empty one. Outside of any transaction."""
        wanted = (state, timezone.localdate() if state else date.min)
        if self.standing == wanted:
            return
        if wanted not in self.copies:
            if state:
                self.stand(STATES[state].begins_with)
                self.standing = None
                STATES[state].build()
            self.copies[wanted] = sqlite3.connect(":memory:")
            _database().backup(self.copies[wanted])
        else:
            self.copies[wanted].backup(_database())
        self.standing = wanted

    def forget(self) -> None:
        """What the database holds is no longer known."""
        self.standing = None


def state_asked_for(request: pytest.FixtureRequest) -> str:
    """The furthest state that a test's fixtures hand out; one whose fixture a module replaced is left to that module."""
    own = {"two_layers", *STATES} - {name for name in request.fixturenames if _is_replaced(name, request)}

    def is_ours(state: str) -> bool:
        return not state or (
            state in own
            and (state in ("books", "pattern") or "two_layers" in own)
            and is_ours(STATES[state].begins_with)
        )

    return next((state for state in reversed(STATES) if state in request.fixturenames and is_ours(state)), "")


def _is_replaced(name: str, request: pytest.FixtureRequest) -> bool:
    return len(request._fixturemanager.getfixturedefs(name, request.node) or ()) > 1


def _database() -> sqlite3.Connection:
    connection.ensure_connection()
    found: sqlite3.Connection = connection.connection
    return found


kept_states = KeptStates()
