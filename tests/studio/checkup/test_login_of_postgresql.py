"""PostgreSQL refuses the login of DATABASE_URL: one sentence with the variable's name, exit 2, and no password in it.

The server is a real one that asks for passwords (PostgreSQL's manual, 20.1 and 20.5).
"""

import tempfile
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from django.db import connection
from support_postgresql import OwnPostgresql
from support_processes import python


@pytest.fixture(scope="module")
def server() -> Iterator[OwnPostgresql]:
    """A server that asks for a password."""
    with tempfile.TemporaryDirectory() as folder:
        server = OwnPostgresql(Path(folder))
        asks_for_a_password(server)
        yield server
        server.stop()


def asks_for_a_password(server: OwnPostgresql) -> None:
    with psycopg.connect(server.url, autocommit=True) as connection:
        connection.execute("ALTER ROLE studio PASSWORD 'right'")
        rules = server.books / "pg_hba.conf"
        rules.write_text(rules.read_text().replace("trust", "scram-sha-256"))
        connection.execute("SELECT pg_reload_conf()")


@pytest.mark.skipif(connection.vendor != "postgresql", reason="Only a server asks for a login.")
@pytest.mark.parametrize(
    ("login", "name", "sentence"),
    [
        ("studio:hush", "studio", "does not let this user in."),
        ("studio", "studio", "does not let this user in."),
        ("nobody-known:hush", "studio", "does not let this user in."),
        ("studio:right", "elsewhere", "has no database of this name."),
    ],
)
def test_a_server_that_refuses_the_login(
    login: str, name: str, sentence: str, server: OwnPostgresql, world: dict[str, str]
):
    world["DATABASE_URL"] = f"postgres://{login}@127.0.0.1:{server.port}/{name}"
    process = python(world, "manage.py", "audit")
    out, err = process.communicate(timeout=120)
    assert (process.returncode, out) == (2, "")
    assert len(err.splitlines()) == 1
    assert sentence in err
    assert "DATABASE_URL" in err
    assert "hush" not in err
