"""Following a recipe of DEVELOPERS.md in a copy of the tree, and opening a database with what came of it.

A recipe is what stands under its bold name in “How to add”; the files that it names are those with a folder before them,
between backticks. A test changes these and no other, so that the recipe says all that there is to do.

Run as a program, in a copy of the tree: it migrates the database in STUDIO_DATA, calls a function of a test's module there
and prints what it returns as JSON.
"""

import importlib.util
import inspect
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

__all__ = ["PROJECT", "Tree", "browser", "named_in", "run_there"]

PROJECT = Path(__file__).resolve().parents[1]
COPIED = ("inventory", "quotes", "studio", "templates", "tests", "fixtures")
COPIED_FILES = ("manage.py", "pyproject.toml", "DEVELOPERS.md", "README.md", "CHANGELOG.md")


def named_in(recipe: str) -> set[str]:
    """Return the files and folders that a recipe names. Raises KeyError for a recipe that is not there."""
    words = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
    how_to_add = words.split("## How to add")[1].split("\n## ")[0]
    parts = re.split(r"^\*\*(.+?)\*\*$", how_to_add, flags=re.MULTILINE)
    told = dict(zip(parts[1::2], parts[2::2], strict=True))[recipe]
    return set(re.findall(r"`([\w./]+/[\w./]*|[\w.]+\.(?:toml|md))`", told))


class Tree:
    """A copy of the tree in which recipes are followed.

    Args:
        database: a folder with the database of a workroom that was installed before; it is copied.
        also: what the recipes cannot name: folders of a feature that is not there yet.
    """

    def __init__(self, folder: Path, *recipes: str, database: Path, also: Sequence[str] = ()) -> None:
        self.path, self.data = folder / "tree", folder / "data"
        for name in COPIED:
            shutil.copytree(PROJECT / name, self.path / name, symlinks=True)
        for name in COPIED_FILES:
            shutil.copy2(PROJECT / name, self.path / name)
        shutil.copytree(database, self.data)
        self._named = {name for recipe in recipes for name in named_in(recipe)} | {*also}
        self._touched: set[str] = set()

    def add(self, path: str, text: str) -> None:
        """A new file."""
        place = self._place(path)
        assert not place.exists(), f"{path} is there already"
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text, encoding="utf-8")

    def put(self, path: str, text: str, *, after: str) -> None:
        """Text behind words that stand once in a file."""
        self.swap(path, after, after + text)

    def swap(self, path: str, words: str, others: str) -> None:
        """Words that stand once in a file, by others."""
        place = self._place(path)
        before = place.read_text(encoding="utf-8")
        assert before.count(words) == 1, f"{path} has {words!r} {before.count(words)} times"
        place.write_text(before.replace(words, others), encoding="utf-8")

    def put_row(self, path: str, rows: str, row: dict[str, Any], *, after: str = "") -> None:
        """A row in a list of a JSON file, behind the row of a code, else last."""
        place = self._place(path)
        document = json.loads(place.read_text(encoding="utf-8"))
        codes = [each["code"] for each in document[rows]]
        document[rows].insert(codes.index(after) + 1 if after else len(codes), row)
        place.write_text(json.dumps(document), encoding="utf-8")

    def is_followed(self) -> bool:
        """Whether every file that the recipes name was changed, and in every folder one."""
        untouched = {name for name in self._named if not any(path.startswith(name) for path in self._touched)}
        assert not untouched, f"named and not needed: {untouched}"
        return True

    def python(self, *arguments: str) -> str:
        """Run the interpreter here; returns what it prints. A program that fails fails the test with its words."""
        return _python(self.path, self.data, *arguments)

    def manage(self, *arguments: str) -> str:
        """Run `manage.py` here."""
        return self.python("manage.py", *arguments)

    def test(self, *arguments: str) -> str:
        """Run tests here, with everything that the recipes brought."""
        return self.python("-m", "pytest", "-p", "no:cacheprovider", *arguments)

    def run(self, program: Callable[..., Any], **said: Any) -> Any:
        """Return what a function of a test's module returns here, on the migrated database."""
        return run_there(self.path, self.data, program, **said)

    def lint(self) -> str:
        """Run the contracts of who imports whom here."""
        return self.python("-c", "from importlinter.cli import lint_imports_command as run; run()")

    def _place(self, path: str) -> Path:
        assert any(path == name or (name.endswith("/") and path.startswith(name)) for name in self._named), (
            f"no recipe names {path}"
        )
        self._touched.add(path)
        return self.path / path


def run_there(tree: Path, data: Path, program: Callable[..., Any], **said: Any) -> Any:
    """Return what a function of a test's module returns in a tree, on the migrated database in `data`."""
    printed = _python(tree, data, __file__, inspect.getfile(program), program.__name__, json.dumps(said))
    return json.loads(printed.splitlines()[-1])


def browser() -> Any:
    """A browser of the workroom's maker, for a function that runs in a tree."""
    from django.contrib.auth.models import User
    from django.test import Client

    found = Client()
    found.force_login(User.objects.get())
    return found


def _python(tree: Path, data: Path, *arguments: str) -> str:
    # What runs in the copied tree is not counted as run here.
    outside = ("COVERAGE", "DATABASE_URL", "DJANGO")
    environment = {name: value for name, value in os.environ.items() if not name.startswith(outside)}
    environment |= {"STUDIO_DATA": str(data), "PYTHONPATH": f"{tree}:{tree / 'tests'}"}
    done = subprocess.run(
        [sys.executable, *arguments], cwd=tree, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-6000:]
    return done.stdout


def _answer(module: str, name: str, said: str) -> None:
    os.environ["DJANGO_SETTINGS_MODULE"] = "studio.settings"
    import django

    django.setup()
    from django.conf import settings
    from django.core.management import call_command

    settings.ALLOWED_HOSTS = ["testserver"]
    call_command("migrate", verbosity=0)
    spec = importlib.util.spec_from_file_location("followed", module)
    assert spec is not None
    assert spec.loader is not None
    followed = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(followed)
    json.dump(getattr(followed, name)(**json.loads(said)), sys.stdout)


if __name__ == "__main__":
    _answer(*sys.argv[1:])
