"""`demo` and `serve` as the README has them used; commands on a database that is not there yet."""

import json
import os
import signal
import socket
import subprocess
import sys
import urllib.request
from io import StringIO
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command

from inventory.models import StockMaterial
from quotes.models import Client, KeptPattern, QuoteRevision

PROJECT = Path(__file__).parents[2]


def said(name: str) -> str:
    out = StringIO()
    call_command(name, stdout=out)
    return out.getvalue()


@pytest.mark.django_db
def test_the_demo_is_loaded_once_and_says_its_login(settings, tmp_path: Path):
    settings.DATA_DIR = tmp_path
    first = said("demo")
    password = (tmp_path / "demo-login").read_text()
    assert password in first
    assert User.objects.get(username="maker").check_password(password)
    kinds = (StockMaterial, Client, KeptPattern, QuoteRevision, User)
    counts = [kind.objects.count() for kind in kinds]
    assert all(counts)
    assert password in said("demo")
    assert [kind.objects.count() for kind in kinds] == counts


@pytest.mark.django_db
def test_the_demo_leaves_a_workroom_alone_that_is_in_use(settings, tmp_path: Path, books: User):
    settings.DATA_DIR = tmp_path
    said("demo")
    assert not Client.objects.exists()


def test_serve_answers_on_loopback_and_leaves_when_asked(tmp_path: Path):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    environment = {**os.environ, "STUDIO_DATA": str(tmp_path), "DJANGO_SETTINGS_MODULE": "studio.settings"}
    migrate = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
    subprocess.run(migrate, cwd=PROJECT, env=environment, check=True)
    command = [sys.executable, "manage.py", "serve", "--port", str(port)]
    with subprocess.Popen(command, cwd=PROJECT, env=environment, stdout=subprocess.PIPE, text=True) as site:
        try:
            assert site.stdout is not None
            line = site.stdout.readline()
            assert f"http://127.0.0.1:{port}/" in line
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/login/") as answer:
                page = answer.read().decode()
                assert answer.status == 200
                assert answer.headers["X-Frame-Options"] == "DENY"
                assert "Server" not in answer.headers or "waitress" not in answer.headers["Server"].lower()
            assert "Staymaker" in page
            assert "Traceback" not in page
        finally:
            site.send_signal(signal.SIGTERM)
            assert site.wait(timeout=20) == 0


def test_a_port_that_is_taken_is_told(tmp_path: Path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        command = [sys.executable, "manage.py", "serve", "--port", str(taken.getsockname()[1])]
        environment = {**os.environ, "STUDIO_DATA": str(tmp_path), "DJANGO_SETTINGS_MODULE": "studio.settings"}
        done = subprocess.run(command, cwd=PROJECT, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "cannot be used" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("name", ["audit", "calibrate", "profit", "reorder"])
def test_a_database_that_was_never_migrated_is_told_in_a_sentence(name: str, tmp_path: Path):
    environment = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    done = subprocess.run(
        [sys.executable, "manage.py", name, "--json"],
        cwd=PROJECT,
        env={**environment, "STUDIO_DATA": str(tmp_path), "DJANGO_SETTINGS_MODULE": "studio.settings"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert [finding["code"] for finding in json.loads(done.stdout)["findings"]] == ["database.not-migrated"]
    assert "Traceback" not in done.stderr
