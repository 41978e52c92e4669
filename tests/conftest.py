"""What tests of the site begin with."""

from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client as Browser
from hypothesis import settings as drawn
from support_books import OPTION
from support_patterns import block_a
from support_processes import own_world
from support_searching import Engine, worker_there
from support_states import kept_states, load_books, send_draft, start_draft, state_asked_for
from support_whole_site import fill_site

from quotes.models import PatternRevision, QuoteRevision
from quotes.patterns.kept_patterns import keep_block
from quotes.searching import holding

# How long a case takes is for `make bench` to say: no test fails because the machine has more to do.
drawn.register_profile("untimed", deadline=None)
drawn.load_profile("untimed")


@pytest.fixture
def _django_db_helper(  # The plugin's own fixture, which opens the transaction of a test: a state is copied before that.
    request: pytest.FixtureRequest, django_db_setup: None, django_db_blocker: Any
) -> Iterator[None]:
    if connection.vendor == "sqlite":
        with django_db_blocker.unblock():
            kept_states.stand(state_asked_for(request))
    request.getfixturevalue("_django_db_helper")
    is_kept = connection.in_atomic_block
    yield
    if not is_kept:
        kept_states.forget()


@pytest.fixture
def maker(db: None) -> User:
    return User.objects.filter(username="maker").first() or User.objects.create_user("maker", password="pins and chalk")


@pytest.fixture
def books(maker: User) -> User:
    """A workroom with a shelf of materials; returns its maker."""
    return maker if kept_states.holds("books") else load_books()


@pytest.fixture
def pattern(books: User) -> PatternRevision:
    return PatternRevision.objects.get() if kept_states.holds("pattern") else keep_block(block=block_a(), user=books)


@pytest.fixture
def two_layers() -> dict[str, Any]:
    """An option as a draft keeps it."""
    return deepcopy(OPTION)


@pytest.fixture
def draft(books: User, pattern: PatternRevision, two_layers: dict[str, Any]) -> QuoteRevision:
    return QuoteRevision.objects.get() if kept_states.holds("draft") else start_draft(pattern, two_layers, books)


@pytest.fixture
def sent(draft: QuoteRevision, books: User) -> QuoteRevision:
    return draft if kept_states.holds("sent") else send_draft(draft, books)


@pytest.fixture
def browser(maker: User) -> Browser:
    """A browser that is logged in."""
    found = Browser()
    found.force_login(maker)
    return found


@pytest.fixture
def whole_site(draft: QuoteRevision, browser: Browser) -> Browser:
    """A browser that is logged in, on a site with something of every kind, all of number 1."""
    if not kept_states.holds("whole_site"):
        fill_site(draft)
    return browser


@pytest.fixture
def worker_is_there(settings: Any, tmp_path: Path) -> Iterator[None]:
    """A worker that draws lays is there, and does nothing."""
    with worker_there(settings, tmp_path):
        yield


@pytest.fixture
def engine(monkeypatch: pytest.MonkeyPatch) -> Engine:
    """What stands for the engine of a worker, of whom every sign of life is written, however soon after the last."""
    monkeypatch.setattr(holding, "BEAT_SECONDS", 0.0)
    made = Engine()
    monkeypatch.setattr("quotes.searching.worker.laid", made)
    return made


@pytest.fixture
def world(tmp_path: Path) -> Iterator[dict[str, str]]:
    """The environment of processes that share an empty database."""
    with own_world(tmp_path) as environment:
        yield environment
