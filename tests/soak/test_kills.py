"""Servers and what works for them are killed under load again and again: what was acknowledged stands once and whole.

What is committed stays whatever comes after: the D of ACID (Haerder and Reuter, 1983). Everything is killed by SIGKILL, on
SQLite in a file, or PostgreSQL where it is named. How often: the site's server `SOAK_KILLS` times, what reads files and
draws lays for it `SOAK_KILLS_OF_WORKERS` times, two servers on one database `SOAK_KILLS_OF_TWO` times after they took
`SOAK_ACTS_OF_TWO` acts unharmed, and PostgreSQL's own server `SOAK_KILLS_OF_POSTGRESQL` times.
"""

import json
import os
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

import pytest
from support_hands import FORMS, PIECES, Load, under_load
from support_postgresql import OwnPostgresql
from support_processes import own_world, python, said
from support_soak import DRAWER, PARTS, WORKERS, Server, Workroom, books_of, made, no_worker_is_left
from support_under_load import watcher

KILLS = int(os.environ.get("SOAK_KILLS", "200"))
KILLS_OF_WORKERS = int(os.environ.get("SOAK_KILLS_OF_WORKERS", "100"))
KILLS_OF_TWO = int(os.environ.get("SOAK_KILLS_OF_TWO", "40"))
ACTS_OF_TWO = int(os.environ.get("SOAK_ACTS_OF_TWO", "400"))
KILLS_OF_POSTGRESQL = int(os.environ.get("SOAK_KILLS_OF_POSTGRESQL", "20"))
SEED = 20_261_129
MOST_BETWEEN = 12
"""So many acts at most are acknowledged between two kills."""
WORKERS_A_SERVER = 10
"""After so many kills of workers their server is killed too, while they work."""


def soaked(server: Server, workroom: Workroom, kills: int, kill: Callable[[], None]) -> Load:
    """Hands at work while something is killed and started again so many times."""
    chance = random.Random(SEED)
    server.start()
    try:
        with under_load([server], workroom, FORMS, seed=SEED) as load:
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
    assert json.loads(said(python(world, "manage.py", "audit", "--json")))["differences"] == []
    return f"{len(load.acknowledged)} acts acknowledged, {load.broken} broken off and sent again"


def tell(capsys: pytest.CaptureFixture[str], words: str) -> None:
    """Say the figures, whatever comes of the test."""
    with capsys.disabled():
        sys.stdout.write(f"\n{words}\n")


def test_the_sites_server_is_killed(world: dict[str, str], capsys: pytest.CaptureFixture[str]):
    workroom, server = made(world), Server(world)

    def kill() -> None:
        server.kill()
        server.start()

    load = soaked(server, workroom, KILLS, kill)
    told = must_stand_once(load, world)
    assert load.broken > 0, "No kill met a form under way."
    assert not load.refused
    tell(capsys, f"{KILLS} kills of the site's server: {told}")


def test_what_works_for_the_site_is_killed(world: dict[str, str], capsys: pytest.CaptureFixture[str]):
    workroom, server, chance = made(world), Server(world), random.Random(SEED)
    works = sorted(WORKERS.values())
    killed = [*works, DRAWER]
    server.start()
    try:
        with under_load([server], workroom, PIECES, seed=SEED) as load:
            for number in range(KILLS_OF_WORKERS):
                load.wait_for(chance.randint(0, 3))
                server.kill_worker(killed[number % len(killed)])
                if number % WORKERS_A_SERVER == WORKERS_A_SERVER - 1:
                    server.kill()
                    server.start()
            load.wait_for(1)
        no_worker_is_left(world)
    finally:
        server.kill()
    told = must_stand_once(load, world)
    assert set(load.ended) == set(works), "No kill met a reading, or a lay, under way."
    assert not load.refused
    again = f"{load.ended['reading']} files handed in again, {load.ended['lay']} times lays asked for again"
    tell(
        capsys, f"{KILLS_OF_WORKERS} kills of what reads files, draws lays or has them drawn, in turn: {told}; {again}"
    )


def test_two_servers_stand_on_one_database(world: dict[str, str], capsys: pytest.CaptureFixture[str]):
    """Of two servers on one data folder one makes the day's copy; every form may go to either, and be sent again to the other."""
    workroom, servers = made(world), [Server(world), Server(world)]
    with ExitStack() as ending:
        for server in servers:
            server.start()
            ending.callback(server.kill)
        with under_load(servers, workroom, (*FORMS, *PIECES), seed=SEED, hands=8) as load:
            watching = [watcher(world, looks=4) for _ in servers]
            load.wait_for(ACTS_OF_TWO)
            assert [said(each, within_seconds=600) for each in watching] == ["", ""]
            assert load.broken == 0
            for number in range(KILLS_OF_TWO):
                load.wait_for(1 + number % MOST_BETWEEN)
                servers[number % 2].kill()
                servers[number % 2].start()
            load.wait_for(1)
        no_worker_is_left(world)
    told = must_stand_once(load, world)
    assert not load.refused
    assert len(list(Path(world["STUDIO_DATA"], "backups").glob("*Z"))) == 1
    tell(capsys, f"Two servers on one database, {ACTS_OF_TWO} acts unharmed and {KILLS_OF_TWO} kills: {told}")


def test_the_databases_server_is_killed(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    with tempfile.TemporaryDirectory() as folder, own_world(tmp_path) as environment:
        database = OwnPostgresql(Path(folder))
        world = {**environment, "DATABASE_URL": database.url}
        try:
            workroom = made(world)

            def kill() -> None:
                database.kill()
                database.start()

            load = soaked(Server(world), workroom, KILLS_OF_POSTGRESQL, kill)
            told = must_stand_once(load, world)
        finally:
            database.stop()
    assert load.broken > 0, "No kill met a form under way."
    assert set(load.refused) <= {503}
    tell(capsys, f"{KILLS_OF_POSTGRESQL} kills of PostgreSQL: {told}; {load.refused[503]} pages said so")
