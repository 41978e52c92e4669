"""Work on files from outside in a process of its own, with little memory and time, killed where it overruns.

The process takes a pickled call on its standard input and answers with a pickled result on its standard output; it imports
what the call needs and no Django. How much it may take stands in `inventory/defaults.json`, under `reading` and, for pictures
that are measured in, `seeing`.
"""

import contextlib
import io
import os
import pickle
import resource
import signal
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from inventory.ground.defaults import ReadingDefaults, shelf_defaults
from inventory.ground.findings import Finding, Refused, refuse
from inventory.ground.reading import file_bytes, json_data

__all__ = ["MOST_MEMORY_BYTES", "answer_request", "confined", "read_json_file"]

_LIMITS = shelf_defaults().reading
MOST_MEMORY_BYTES = _LIMITS.memory_mb * 1_000_000
_PROJECT = Path(__file__).resolve().parents[2]
_PROGRAM = f"from {__name__} import answer_request; answer_request()"
# Number libraries would start a thread for each core, and take memory for each.
_ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Answer:
    result: Any = None
    findings: tuple[Finding, ...] = ()
    beside: Mapping[str, object] = field(default_factory=dict)


def confined(call: Callable[..., T], *given: object, name: str, mend: str, limits: ReadingDefaults = _LIMITS) -> T:
    """Return what `call(*given)` returns: a function of a module, without Django, given and returning what can be pickled.

    Args:
        name: of the file, for the place of a finding.
        mend: what to do with a file that takes too much, one sentence.
        limits: how much of time and memory it may take; photographs have their own.

    Raises:
        Refused: as the call does, or that it took too much time or memory, broke down or was ended from outside.
    """
    try:
        done = subprocess.run(
            [sys.executable, "-c", _PROGRAM],
            input=pickle.dumps((call, given, name, limits)),
            capture_output=True,
            timeout=limits.wall_seconds,
            env={**os.environ, **_ONE_THREAD, "PYTHONPATH": str(_PROJECT)},
            cwd=_PROJECT,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise refuse(
            "file.too-slow", name, f"The file could not be read within {limits.wall_seconds} seconds.", mend
        ) from None
    if done.returncode == -signal.SIGXCPU:
        raise refuse(
            "file.too-slow", name, f"The file could not be read within {limits.cpu_seconds} seconds of work.", mend
        )
    if done.returncode == -signal.SIGKILL:
        raise refuse(
            "file.broken-off",
            name,
            "Reading the file was ended from outside, as a machine does that is short of memory.",
            "Hand it in once more.",
        )
    if done.returncode != 0:
        raise refuse(
            "file.too-much",
            name,
            f"The file needs more than {limits.memory_mb} MB to be read, or is damaged so that it cannot be read.",
            mend,
        )
    answer = pickle.loads(done.stdout)
    assert isinstance(answer, _Answer)
    if answer.findings:
        raise Refused(answer.findings, beside=answer.beside)
    result: T = answer.result
    return result


def read_json_file(path: Path, read: Callable[[Any], T], *, where: str = "file") -> T:
    """Return what `read` makes of the document in a JSON file, within the limits; `where` is the place of JSON's own faults.

    Raises:
        Refused: as `confined` does.
    """
    mend = "Part it into several files."
    made: T = confined(_read_json, file_bytes(path, mend), read, where, name=path.name, mend=mend)
    return made


def _read_json(data: bytes, read: Callable[[Any], T], where: str) -> T:
    made: T = read(json_data(data, where))
    return made


def answer_request() -> None:
    """Answer the request on standard input; what the child process runs."""
    call, given, name, limits = pickle.loads(sys.stdin.buffer.read())
    # What is set aside counts as address space, what can be written to as data (setrlimit(2); Linux counts mappings too).
    for limit, megabytes in ((resource.RLIMIT_AS, limits.address_mb), (resource.RLIMIT_DATA, limits.memory_mb)):
        resource.setrlimit(limit, (megabytes * 1_000_000, megabytes * 1_000_000))
    resource.setrlimit(resource.RLIMIT_CPU, (limits.cpu_seconds, limits.cpu_seconds + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    # Libraries that print would spoil the answer.
    with contextlib.redirect_stdout(io.StringIO()):
        answer = _answered(call, given, name)
    sys.stdout.buffer.write(pickle.dumps(answer))


def _answered(call: Callable[..., Any], given: tuple[object, ...], name: str) -> _Answer:
    try:
        return _Answer(result=call(*given))
    except Refused as refusal:
        return _Answer(findings=refusal.findings, beside=refusal.beside)
    except RecursionError:
        return _Answer(findings=refuse("file.too-deep", name, "The file is nested too deeply.").findings)
