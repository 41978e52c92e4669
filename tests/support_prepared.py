"""A process that has imported what commands import, and forks for each: what takes a command two seconds to begin.

Run as a program with the path of a socket. Whoever connects sends one line of JSON, {"arguments", "environment", "out",
"err"}, as `python` would be called with, and is answered with the exit code once the fork has ended as a process of its own
does. What depends on the site's settings is imported by the fork, in the environment that it is given.
"""

import importlib
import json
import os
import pkgutil
import runpy
import signal
import socket
import sys
import tomllib
from pathlib import Path

PROJECT = Path(__file__).parents[1]
OTHERS = (
    *("babel.numbers", "django.contrib.postgres.fields", "django.core.management", "django.db.models"),
    *("django.forms", "django.urls", "jsonschema", "numpy", "psycopg", "shapely"),
)
SLOW_AND_RARE = ("quotes.photograph",)
"""The library that sees pictures is imported by hardly any command."""


def prepare() -> None:
    """Import the pure rooms and libraries that ask for no settings."""
    for name in OTHERS:
        importlib.import_module(name)
    contracts = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]
    for room in next(one["source_modules"] for one in contracts["contracts"] if "Django" in one["name"]):
        if not room.startswith(SLOW_AND_RARE):
            module = importlib.import_module(room)
            for found in pkgutil.iter_modules(getattr(module, "__path__", ()), f"{room}."):
                if not found.ispkg:
                    importlib.import_module(found.name)
    # The settings choose the library that opens the books.
    assert "sqlite3" not in sys.modules


def serve(path: str) -> None:
    """Answer whoever connects, until the process that started this one is gone."""
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(path)
        listening.listen()
        print("ready", flush=True)  # noqa: T201  whoever started it waits for this
        starter = os.getppid()
        listening.settimeout(1)
        while os.getppid() == starter:
            try:
                asking, _ = listening.accept()
            except TimeoutError:
                continue
            with asking:
                if os.fork() == 0:
                    listening.close()
                    return answer(asking)


def answer(asking: socket.socket) -> None:
    """Have another fork run what is asked for, and send its exit code; the fork itself returns as a program that begins."""
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    request = json.loads(asking.makefile().readline())
    process = os.fork()
    if process == 0:
        asking.close()
        return run(**request)
    _, status = os.waitpid(process, 0)
    asking.sendall(str(os.waitstatus_to_exitcode(status)).encode())
    os._exit(0)


def run(arguments: list[str], environment: dict[str, str], out: str, err: str) -> None:
    """Be the process of `python` with these arguments."""
    for number, path, mode in ((0, os.devnull, os.O_RDONLY), (1, out, os.O_WRONLY), (2, err, os.O_WRONLY)):
        opened = os.open(path, mode)
        os.dup2(opened, number)
        os.close(opened)
    os.environ.clear()
    os.environ.update(environment)
    program, *others = arguments
    if program == "-c":
        sys.argv = ["-c", *others[1:]]
        exec(others[0], {"__name__": "__main__"})
    else:
        sys.argv = arguments
        runpy.run_path(program, run_name="__main__")


if __name__ == "__main__":
    sys.path[:0] = [str(PROJECT), str(PROJECT / "tests")]
    os.chdir(PROJECT)
    prepare()
    serve(sys.argv[1])
