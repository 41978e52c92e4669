"""Books in a folder of their own, commands on them as a person runs them, and a writer that says what it was promised."""

import json
from pathlib import Path
from typing import Any

from support_processes import ran

__all__ = ["command", "copied", "sentence", "tell"]


def command(world: dict[str, str], *arguments: str | Path) -> tuple[int, dict[str, Any]]:
    """Run a command with `--json`: its exit code and its document. Nothing but sentences stands on standard error."""
    done = ran(world, "manage.py", *arguments, "--json")
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


def tell(world: dict[str, str], program: str) -> Any:
    """What a few lines of Python, with the site set up, print as JSON."""
    done = ran(world, "-c", f"import django; django.setup()\nimport json\n{program}")
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)
