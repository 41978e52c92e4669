"""What tests of the site begin with."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.utils import timezone
from hypothesis import settings as drawn
from support_patterns import block_a
from support_processes import own_world

from quotes.desk.quoting import offer_of_today, send, start_quote
from quotes.models import Client, PatternRevision, QuoteRevision
from quotes.patterns.kept_patterns import keep_block
from quotes.seal.snapshot import offer_fingerprint
from studio.demo import shelf, workroom

# How long a case takes is for `make bench` to say: no test fails because the machine has more to do.
drawn.register_profile("untimed", deadline=None)
drawn.load_profile("untimed")


@pytest.fixture
def maker(db: None) -> User:
    return User.objects.create_user("maker", password="pins and chalk")


@pytest.fixture
def books(maker: User) -> User:
    """A workroom with a shelf of materials; returns its maker."""
    workroom.load()
    workroom.new_rates()
    shelf.load()
    shelf.new_list()
    return maker


@pytest.fixture
def pattern(books: User) -> PatternRevision:
    return keep_block(block=block_a(), user=books)


@pytest.fixture
def two_layers() -> dict[str, Any]:
    """An option as a draft keeps it."""
    cloths = {"outer": "coutil-satin-bottle", "inner": "coutil-white"}
    return {"name": "Two layers", "construction": "two-layer", "cloths": cloths, "choices": {}}


@pytest.fixture
def draft(books: User, pattern: PatternRevision, two_layers: dict[str, Any]) -> QuoteRevision:
    return start_quote(
        client=Client(name="Odile Farrant"),
        title="Underbust",
        due=None,
        pattern=pattern,
        options=[two_layers],
        user=books,
    )


@pytest.fixture
def sent(draft: QuoteRevision, books: User) -> QuoteRevision:
    seen = offer_fingerprint(offer_of_today(draft))
    return send(revision=draft, valid_until=timezone.localdate() + timedelta(days=14), seen=seen, user=books)


@pytest.fixture
def browser(maker: User) -> Browser:
    """A browser that is logged in."""
    found = Browser()
    found.force_login(maker)
    return found


@pytest.fixture
def world(tmp_path: Path) -> Iterator[dict[str, str]]:
    """The environment of processes that share an empty database."""
    with own_world(tmp_path) as environment:
        yield environment
