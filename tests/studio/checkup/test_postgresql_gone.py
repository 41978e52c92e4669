"""PostgreSQL drops a connection in mid-request, or is not there: reading is tried once more, an act is refused whole.

`pg_terminate_backend` is what a restart does to a connection (PostgreSQL's manual, 9.28.2).
"""

import json
from pathlib import Path

import pytest
from django.db import connection
from support_processes import python, said

PROGRAM = Path(__file__).parents[2] / "support_faults_met.py"


@pytest.mark.skipif(connection.vendor != "postgresql", reason="Only a server can be gone.")
@pytest.mark.django_db
def test_a_connection_that_was_dropped_and_a_server_that_is_gone(world: dict[str, str]):
    said(python(world, "manage.py", "migrate", "--verbosity", "0"))
    found = json.loads(said(python(world, str(PROGRAM), "dropped")))
    answers = found["answers"]
    assert {name: status for name, (status, _) in answers.items()} == {
        "read": 200,
        "write": 503,
        "write when mended": 302,
        "read without a server": 503,
        "write without a server": 503,
        "read when it is there again": 200,
    }
    assert found["books"]["notes"] == 0
    assert found["notes"] == 100_000
    assert "<h1>This could not be saved</h1>" in answers["write"][1]
    assert "The database server does not answer. Start it" in answers["read without a server"][1]


@pytest.mark.skipif(connection.vendor != "postgresql", reason="Only a server can be gone.")
@pytest.mark.parametrize("command", ["audit", "doctor", "demo", "serve", "migrate"])
def test_a_command_without_a_server(command: str, world: dict[str, str]):
    world["DATABASE_URL"] = "postgres://studio@127.0.0.1:1/studio"
    process = python(world, "manage.py", command)
    _, err = process.communicate(timeout=120)
    assert process.returncode == 1
    assert "The database server does not answer. Start it" in err
    assert "Traceback" not in err
