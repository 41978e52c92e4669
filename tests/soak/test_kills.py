"""The site's server, or the database's, is killed under load again and again: what was acknowledged stands once and whole.

What is committed stays whatever comes after: the D of ACID (Haerder and Reuter, 1983). `SOAK_KILLS` says how often the
site's server is killed, on SQLite in a file, or PostgreSQL where it is named; PostgreSQL's own is killed `SOAK_KILLS_OF_POSTGRESQL` times.
"""

import json
import os
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from support_postgresql import OwnPostgresql
from support_processes import own_world, python, said
from support_soak import PARTS, Load, Server, Workroom, books_of, made, under_load

KILLS = int(os.environ.get("SOAK_KILLS", "200"))
KILLS_OF_POSTGRESQL = int(os.environ.get("SOAK_KILLS_OF_POSTGRESQL", "20"))
SEED = 20_261_129
MOST_BETWEEN = 12
"""So many acts at most are acknowledged between two kills."""


def soaked(server: Server, workroom: Workroom, kills: int, kill: Callable[[], None]) -> Load:
    """Hands at work while something is killed and started again so many times."""
    chance = random.Random(SEED)
    server.start()
    try:
        with under_load(server, workroom, seed=SEED) as load:
            for _ in range(kills):
                load.wait_for(chance.randint(1, MOST_BETWEEN))
                kill()
            load.wait_for(1)
    finally:
        server.kill()
    return load


def must_stand_once(load: Load, world: dict[str, str]) -> str:
    """Compare what was acknowledged with the books; returns the figures in words."""
    books = books_of(world)
    stands = {kind: Counter(name for name, _ in rows) for kind, rows in books.items()}
    asked = {kind: Counter(name for of, name in load.acknowledged if of == kind) for kind in PARTS}
    assert {kind: asked[kind] - stands[kind] for kind in PARTS} == {kind: Counter() for kind in PARTS}, "lost"
    assert {kind: stands[kind] - asked[kind] for kind in PARTS} == {kind: Counter() for kind in PARTS}, "doubled"
    assert [row for kind, rows in books.items() for row in rows if row[1] != PARTS[kind]] == [], "half there"
    assert load.broken > 0, "No kill met a form under way."
    assert json.loads(said(python(world, "manage.py", "audit", "--json")))["differences"] == []
    return f"{len(load.acknowledged)} acts acknowledged, {load.broken} broken off and sent again"


def test_the_sites_server_is_killed(world: dict[str, str], capsys: pytest.CaptureFixture[str]):
    workroom, server = made(world), Server(world)

    def kill() -> None:
        server.kill()
        server.start()

    told = must_stand_once(soaked(server, workroom, KILLS, kill), world)
    with capsys.disabled():
        sys.stdout.write(f"\n{KILLS} kills of the site's server: {told}\n")


def test_the_databases_server_is_killed(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    with tempfile.TemporaryDirectory() as folder, own_world(tmp_path) as environment:
        database = OwnPostgresql(Path(folder))
        world = {**environment, "DATABASE_URL": database.url}
        try:
            workroom = made(world)

            def kill() -> None:
                database.kill()
                database.start()

            told = must_stand_once(soaked(Server(world), workroom, KILLS_OF_POSTGRESQL, kill), world)
        finally:
            database.stop()
    with capsys.disabled():
        sys.stdout.write(f"\n{KILLS_OF_POSTGRESQL} kills of PostgreSQL: {told}\n")
