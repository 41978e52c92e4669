"""The house stands as it was meant to: empty package doors, pure rooms that know nothing of Django."""

import ast
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
CONTRACTS = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]["contracts"]
PURE = next(contract["source_modules"] for contract in CONTRACTS if "Django" in contract["name"])


def modules(room: str) -> list[str]:
    """A room's modules, itself included; not the ground's half that knows Django."""
    place = PROJECT / room.replace(".", "/")
    files = [place.with_suffix(".py")] if place.with_suffix(".py").exists() else sorted(place.rglob("*.py"))
    names = [".".join(path.relative_to(PROJECT).with_suffix("").parts).removesuffix(".__init__") for path in files]
    return [name for name in names if ".site" not in name and not name.endswith("__main__")]


@pytest.mark.parametrize("app", ["inventory", "quotes", "studio"])
def test_an_app_does_nothing_when_it_is_imported(app: str):
    assert (PROJECT / app / "__init__.py").read_text(encoding="utf-8") == ""


def test_pure_rooms_are_imported_without_django():
    """In a fresh interpreter, so that nothing is there already; every module of a room, not its door alone."""
    names = [name for room in PURE for name in modules(room)]
    assert len(names) > len(PURE)
    program = (
        f"import importlib, sys; [importlib.import_module(name) for name in {names!r}]; print('django' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=PROJECT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_a_takeoff_and_the_first_page_do_not_wait_for_pandas():
    """In a fresh interpreter; the books' own tables do load it, so that the test can fail."""
    program = """
import sys, django
django.setup()
from django.core.management import load_command_class
from django.urls import get_resolver, resolve
load_command_class("quotes", "takeoff")
resolve("/"), len(get_resolver().reverse_dict)
print("pandas" in sys.modules)
from studio.profit.totals import table_of
table_of([], ["style"])
print("pandas" in sys.modules)
"""
    settings = {**os.environ, "DJANGO_SETTINGS_MODULE": "studio.settings_test"}
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=PROJECT, env=settings, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["False", "True"]


OF_DJANGO = {"management", "migrations", "static", "templatetags"}
"""Folders that Django itself asks for."""


@pytest.mark.parametrize("floor", ["inventory", "quotes", "studio"])
def test_the_map_in_developers_md_shows_every_room_and_no_other(floor: str):
    words = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
    shown = set(re.findall(rf"`{floor}/(\w+)/`", words))
    rooms = {path.name for path in (PROJECT / floor).iterdir() if (path / "__init__.py").exists()}
    assert shown - OF_DJANGO == rooms - OF_DJANGO


def test_developers_md_names_only_what_is_there():
    words = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = re.findall(r"`((?:inventory|quotes|studio|tests|templates|fixtures)/[\w./]+)`", words)
    assert len(named) > 50
    named.remove("templates/FLOOR/FEATURE/")
    named.remove("tests/FLOOR/FEATURE/")
    assert [path for path in named if not (PROJECT / path).exists()] == []


@pytest.mark.parametrize("floor", ["inventory", "quotes", "studio"])
def test_every_room_says_in_a_sentence_what_lives_there(floor: str):
    doors = [path / "__init__.py" for path in (PROJECT / floor).iterdir() if (path / "urls.py").exists()]
    assert doors
    assert [door for door in doors if not ast.get_docstring(ast.parse(door.read_text(encoding="utf-8")))] == []


@pytest.mark.parametrize("kind", ["templates", "tests"])
def test_templates_and_tests_stand_under_the_name_of_their_room(kind: str):
    """So that whoever knows the room knows the folder."""
    folders = [path for floor in ("inventory", "quotes", "studio") for path in (PROJECT / kind / floor).iterdir()]
    rooms = [path for path in folders if path.is_dir() and path.name != "__pycache__"]
    assert rooms
    assert [path for path in rooms if not (PROJECT / path.relative_to(PROJECT / kind)).is_dir()] == []
