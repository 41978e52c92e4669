"""Faults of the machine, made on purpose; run as a program, all commands of ours on a database that has one.

As a program it prints, by the name of each command, its exit code and what stood on both outputs. STUDIO_DATA
is that of its environment.
"""

import io
import json
import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from pathlib import Path

from support_processes import migrated_file, ran

__all__ = ["COMMANDS", "as_commands_say", "closed_to_writing", "environment_of", "migrated", "overwritten", "run"]

PROJECT = Path(__file__).resolve().parents[1]
_WITHOUT_OVERRIDE = ("setpriv", "--bounding-set=-dac_override,-dac_read_search")
"""Root passes over permissions by two capabilities (capabilities(7)); without them they hold for root too."""
_FIXTURES = PROJECT / "fixtures"
_ARGUMENTS = {
    "quote": [str(_FIXTURES / "commissions" / "underbust-from-measures.json"), "--effort", "none"],
    "lay": [str(_FIXTURES / "patterns" / "underbust.dxf"), "--effort", "none", "--width", "1340"],
    "takeoff": [str(_FIXTURES / "patterns" / "underbust.dxf"), "--effort", "none"],
    "outlines": [str(_FIXTURES / "README.md")],
    "serve": ["--port", "99999"],
    "export": [str(_FIXTURES / "README.md")],
    "load": ["no-such-folder"],
    "restore": ["no-such-folder"],
}
COMMANDS = sorted(path.stem for path in PROJECT.glob("*/management/commands/[a-z]*.py"))


def environment_of(data: Path) -> dict[str, str]:
    """The environment of a process whose books are in SQLite in a folder."""
    kept = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    paths = f"{PROJECT}:{PROJECT / 'tests'}"
    return {**kept, "STUDIO_DATA": str(data), "DJANGO_SETTINGS_MODULE": "studio.settings", "PYTHONPATH": paths}


def run(data: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run Python with arguments on the books of a folder, to its end; permissions hold for it."""
    begun_by = _WITHOUT_OVERRIDE if os.getuid() == 0 else ()
    return ran(environment_of(data), *arguments, begun_by=begun_by)


@contextmanager
def closed_to_writing(*places: Path) -> Iterator[None]:
    """Files and folders that may be read and not written while this lasts."""
    modes = [place.stat().st_mode for place in places]
    for place in places:
        place.chmod(0o555 if place.is_dir() else 0o444)
    yield
    for place, mode in zip(places, modes, strict=True):
        place.chmod(mode)


def migrated(data: Path) -> Path:
    """Put new books into a folder; returns their file."""
    shutil.copyfile(migrated_file(), data / "studio.sqlite3")
    return data / "studio.sqlite3"


def overwritten(file: Path, *, after: int = 0) -> None:
    """Write noise over a database, after so many bytes of it."""
    with file.open("r+b") as database:
        database.seek(after)
        database.write(b"\xa5" * (file.stat().st_size - after))


def as_commands_say(data: Path) -> dict[str, tuple[int, str, str]]:
    """What each command of ours answers on the books of a folder: exit code, standard output, standard error."""
    done = run(data, __file__)
    assert done.returncode == 0, done.stderr
    said: dict[str, tuple[int, str, str]] = json.loads(done.stdout)
    return said


def _say() -> dict[str, tuple[int, str, str]]:
    import django

    django.setup()
    from django.core.management import call_command

    said = {}
    # What mends the books comes last.
    for name in sorted(COMMANDS, key=lambda name: name == "migrate"):
        out, err, leaving = io.StringIO(), io.StringIO(), 0
        with redirect_stdout(out), redirect_stderr(err):
            try:
                call_command(name, *_ARGUMENTS.get(name, []))
            except SystemExit as end:
                leaving = int(end.code or 0)
        said[name] = leaving, out.getvalue(), err.getvalue()
    return said


if __name__ == "__main__":
    print(json.dumps(_say()))  # noqa: T201
