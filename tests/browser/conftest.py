"""What tests in a browser begin with: the site served from a database file, Debian's Chromium, a hand in a fresh context.

Run by themselves (`make browser`). A test that is skipped here counts as failed: nobody would notice it otherwise.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.models import User
from django.db import connection
from playwright.sync_api import Browser as Chromium
from playwright.sync_api import sync_playwright
from support_browser import sent_to
from support_hand import Hand

from quotes.models import Client, PatternRevision, QuoteRevision
from quotes.workroom.settings import workroom

# No name is found but the host's own: what would leave it fails.
STAYS_HERE = "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    report = yield
    if report.skipped:
        report.outcome, report.longrepr = "failed", f"Skipped: {call.excinfo.value if call.excinfo else item}"
    return report


@pytest.fixture(scope="session", autouse=True)
def _django_beside_a_browser() -> Iterator[None]:
    """The browser is driven from a loop in this thread, where Django would not touch its database otherwise."""
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
    yield
    del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]


@pytest.fixture(scope="session")
def django_db_modify_db_settings(tmp_path_factory: pytest.TempPathFactory) -> None:
    """A file, with the product's own options: each thread of the server has a connection of its own, as it has in earnest."""
    connection.settings_dict["TEST"]["NAME"] = str(tmp_path_factory.mktemp("books") / "studio.sqlite3")
    connection.settings_dict["OPTIONS"] = settings.SQLITE["OPTIONS"]


@pytest.fixture(scope="session")
def installed(django_db_setup: None, django_db_blocker: Any) -> Iterator[Any]:
    """The database as it is after the migrations: a copy in memory."""
    with django_db_blocker.unblock():
        connection.ensure_connection()
        kept = type(connection.connection)(":memory:")
        connection.connection.backup(kept)
    yield kept
    kept.close()


@pytest.fixture
def transactional_db(installed: Any, django_db_blocker: Any) -> Iterator[None]:
    """Begins each test with a database just installed. Flushing cannot: what is sent or posted is never deleted."""
    with django_db_blocker.unblock():
        connection.ensure_connection()
        installed.backup(connection.connection)
        yield
        connection.close()


@pytest.fixture
def db(transactional_db: None) -> None:
    """The same for fixtures that ask for any database."""


@pytest.fixture(scope="session")
def chromium() -> Iterator[Chromium]:
    path = shutil.which("chromium")
    assert path, "Tests in a browser need Debian’s Chromium: apt-get install chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=[STAYS_HERE])
        yield browser
        browser.close()


@pytest.fixture
def new_hand(chromium: Chromium, live_server: Any) -> Iterator[Callable[..., Hand]]:
    """Makes hands, each in a context of its own; any fault that one of them met fails the test."""
    faults: list[str] = []
    hands: list[Hand] = []

    def make(device: dict[str, object] | None = None) -> Hand:
        hands.append(Hand.at(chromium, live_server.url, faults, device))
        return hands[-1]

    yield make
    for hand in hands:
        hand.page.context.close()
    assert not faults, "\n".join(faults)


@pytest.fixture
def hand(maker: Any, new_hand: Callable[..., Hand]) -> Hand:
    """The maker's hand, logged in."""
    found = new_hand()
    found.come_in()
    found.presses = 0
    return found


@pytest.fixture
def german(books: User, pattern: PatternRevision) -> QuoteRevision:
    """A quote that was sent to a client who is written to in German, with how to pay."""
    room = workroom()
    room.payment_details = "Bank of Marl, account 12 34, name the number of the offer"
    room.save()
    return sent_to(Client(name="Ottilie Brandis", language="de"), pattern, books)
