"""The house stands as it was meant to: empty package doors, pure rooms that know nothing of Django."""

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
CONTRACTS = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]["contracts"]
PURE = next(contract["source_modules"] for contract in CONTRACTS if "Django" in contract["name"])


@pytest.mark.parametrize("app", ["inventory", "quotes", "studio"])
def test_an_app_does_nothing_when_it_is_imported(app: str):
    assert (PROJECT / app / "__init__.py").read_text(encoding="utf-8") == ""


def test_pure_rooms_are_imported_without_django():
    """In a fresh interpreter, so that nothing is there already."""
    program = (
        f"import importlib, sys; [importlib.import_module(name) for name in {PURE!r}]; print('django' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=PROJECT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
