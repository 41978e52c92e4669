"""Reading foreign files in a process of their own, with little memory and time, killed where it overruns.

The child is this package run by `python -m`: it takes a pickled request on its standard input and answers with a
pickled result on its standard output. Nothing of Django is imported in it.
"""

import contextlib
import importlib
import io
import os
import pickle
import resource
import signal
import subprocess
import sys
from dataclasses import dataclass, replace
from pathlib import Path

from inventory.ground.findings import Finding, Refused, refuse
from quotes.pattern.assemble import assemble
from quotes.pattern.drawing import Drawing, Reading, ReadOptions

__all__ = ["MOST_CPU_SECONDS", "MOST_MEMORY_BYTES", "MOST_SECONDS", "READERS", "answer_request", "read_in_child"]

READERS = {".dxf": "dxf", ".svg": "svg", ".csv": "table", ".xlsx": "table", ".json": "json_pattern"}
"""Which module of this room reads a kind of file, by the ending of its name."""
MOST_CPU_SECONDS, MOST_SECONDS = 5, 30
"""Of the processor; and by the clock, for a machine that has other work to do."""
MOST_MEMORY_BYTES = 550_000_000
_PROJECT = Path(__file__).resolve().parents[3]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Request:
    data: bytes
    kind: str
    name: str
    options: ReadOptions
    assembled: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Answer:
    result: Drawing | Reading | None = None
    findings: tuple[Finding, ...] = ()


def read_in_child(data: bytes, kind: str, name: str, options: ReadOptions, *, assembled: bool) -> Drawing | Reading:
    """Return what the reader for `kind` (".dxf", …) makes of `data`.

    Raises:
        Refused: the reader's findings, or that it took too much time or memory or broke down.
    """
    request = pickle.dumps(_Request(data=data, kind=kind, name=name, options=options, assembled=assembled))
    environment = {**os.environ, "PYTHONPATH": str(_PROJECT), "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    too_slow = refuse(
        "file.too-slow",
        name,
        f"The file could not be read within {MOST_CPU_SECONDS} seconds of work.",
        "Save only the pattern's panels, without copies of copies.",
    )
    try:
        done = subprocess.run(
            [sys.executable, "-m", "quotes.pattern.readers"],
            input=request,
            capture_output=True,
            timeout=MOST_SECONDS,
            env=environment,
            cwd=_PROJECT,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise too_slow from None
    if done.returncode == -signal.SIGXCPU:
        raise too_slow
    if done.returncode != 0:
        raise refuse(
            "file.too-much",
            name,
            "The file needs too much memory or time, or is damaged so that it cannot be read.",
            "Save only the pattern's panels.",
        )
    answer = pickle.loads(done.stdout)
    assert isinstance(answer, _Answer)
    if answer.result is None:
        raise Refused(answer.findings)
    return answer.result


def _limit() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_CPU_SECONDS, MOST_CPU_SECONDS + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _answer(request: _Request) -> _Answer:
    try:
        drawn = _read(request)
        if isinstance(drawn, Drawing) and not drawn.name:
            drawn = replace(drawn, name=request.name)
        if request.assembled and isinstance(drawn, Drawing):
            drawn = assemble(drawn, request.options)
    except Refused as refusal:
        return _Answer(findings=refusal.findings)
    except RecursionError:
        return _Answer(findings=refuse("file.too-deep", request.name, "The file is nested too deeply.").findings)
    return _Answer(result=drawn)


def _read(request: _Request) -> Drawing | Reading:
    # Each reader brings libraries that the others do without, so only the one that is needed is imported.
    reader = importlib.import_module(f"quotes.pattern.readers.{READERS[request.kind]}")
    drawn: Drawing | Reading = reader.read(request.data, request.options)
    return drawn


def answer_request() -> None:
    """Answer the request on standard input; what the child process runs."""
    request = pickle.loads(sys.stdin.buffer.read())
    _limit()
    # Libraries that print would spoil the answer.
    with contextlib.redirect_stdout(io.StringIO()):
        answer = _answer(request)
    sys.stdout.buffer.write(pickle.dumps(answer))
