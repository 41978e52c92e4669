"""Books in a folder of their own, commands on them as a person runs them, and a writer that says what it was promised."""

import atexit
import json
import os
import shutil
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

from support_processes import PROJECT, python, said

__all__ = ["command", "copied", "is_postgresql", "migrated", "sentence", "tell"]


def command(world: dict[str, str], *arguments: str | Path) -> tuple[int, dict[str, Any]]:
    """Run a command with `--json`: its exit code and its document. Nothing but sentences stands on standard error."""
    done = subprocess.run(
        [sys.executable, "manage.py", *map(str, arguments), "--json"],
        env=world,
        cwd=PROJECT,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert "Traceback" not in done.stderr, done.stderr
    return done.returncode, json.loads(done.stdout)


def sentence(world: dict[str, str], *arguments: str | Path) -> str:
    """The code of the one finding with which a command refuses; it is a sentence."""
    code, document = command(world, *arguments)
    assert code == 1
    (found,) = document["findings"]
    assert found["message"].endswith(".")
    return found["code"]


def copied(world: dict[str, str], *arguments: str | Path) -> Path:
    """The folder of a backup that proved good."""
    code, document = command(world, "backup", *arguments)
    assert code == 0, document
    return Path(document["where"])


def migrated(world: dict[str, str]) -> Path:
    """Empty books of today; returns their data folder."""
    data = Path(world["STUDIO_DATA"])
    if is_postgresql():
        said(python(world, "manage.py", "migrate", "--verbosity", "0"))
    else:
        shutil.copyfile(_migrated_file(), data / "studio.sqlite3")
    return data


@cache
def _migrated_file() -> Path:
    """A database of SQLite that was migrated once for all tests of this process."""
    folder = Path(tempfile.mkdtemp(prefix="migrated-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    world = {**os.environ, "STUDIO_DATA": str(folder), "DJANGO_SETTINGS_MODULE": "studio.settings"}
    said(python(world, "manage.py", "migrate", "--verbosity", "0"))
    return folder / "studio.sqlite3"


def tell(world: dict[str, str], program: str) -> Any:
    """What a few lines of Python, with the site set up, print as JSON."""
    return json.loads(said(python(world, "-c", f"import django; django.setup()\nimport json\n{program}")))


def is_postgresql() -> bool:
    return bool(os.environ.get("DATABASE_URL"))
