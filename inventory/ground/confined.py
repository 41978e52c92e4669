"""Work on files from outside in a process of its own, with little memory and time, killed where it overruns.

The process takes a pickled call on its standard input and answers with a pickled result on its standard output; it imports
what the call needs and no Django. How much it may take stands in `inventory/defaults.json`, under `reading`.
"""

import contextlib
import io
import os
import pickle
import resource
import signal
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from inventory.ground.defaults import shelf_defaults
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


def confined(call: Callable[..., T], *given: object, name: str, mend: str) -> T:
    """Return what `call(*given)` returns: a function of a module, without Django, given and returning what can be pickled.

    Args:
        name: of the file, for the place of a finding.
        mend: what to do with a file that takes too much, one sentence.

    Raises:
        Refused: as the call does, or that it took too much time or memory, broke down or was ended from outside.
    """
    try:
        done = subprocess.run(
            [sys.executable, "-c", _PROGRAM],
            input=pickle.dumps((call, given, name)),
            capture_output=True,
            timeout=_LIMITS.wall_seconds,
            env={**os.environ, **_ONE_THREAD, "PYTHONPATH": str(_PROJECT)},
            cwd=_PROJECT,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise refuse(
            "file.too-slow", name, f"The file could not be read within {_LIMITS.wall_seconds} seconds.", mend
        ) from None
    if done.returncode == -signal.SIGXCPU:
        raise refuse(
            "file.too-slow", name, f"The file could not be read within {_LIMITS.cpu_seconds} seconds of work.", mend
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
            f"The file needs more than {_LIMITS.memory_mb} MB to be read, or is damaged so that it cannot be read.",
            mend,
        )
    answer = pickle.loads(done.stdout)
    assert isinstance(answer, _Answer)
    if answer.findings:
        raise Refused(answer.findings)
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
    request = sys.stdin.buffer.read()
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (_LIMITS.cpu_seconds, _LIMITS.cpu_seconds + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    # Libraries that print would spoil the answer.
    with contextlib.redirect_stdout(io.StringIO()):
        answer = _answered(request)
    sys.stdout.buffer.write(pickle.dumps(answer))


def _answered(request: bytes) -> _Answer:
    call, given, name = pickle.loads(request)
    try:
        return _Answer(result=call(*given))
    except Refused as refusal:
        return _Answer(findings=refusal.findings)
    except RecursionError:
        return _Answer(findings=refuse("file.too-deep", name, "The file is nested too deeply.").findings)
