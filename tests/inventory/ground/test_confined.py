"""Files are read within limits. Sources: setrlimit(2), a process that has used up its processor time is sent SIGXCPU and gets no
memory beyond RLIMIT_AS; the figures are those of inventory/defaults.json.
"""

import os
import signal
from dataclasses import replace
from pathlib import Path

import pytest

from inventory.ground.confined import confined, read_json_file
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Refused
from inventory.ground.reading import MOST_BYTES, file_bytes, json_data

MEND = "Save less."


def code(refused: pytest.ExceptionInfo[Refused]) -> str:
    (found,) = refused.value.findings
    assert found.hint == MEND
    assert found.where == "a.svg"
    return found.code


def test_what_is_read_within_the_limits_comes_back():
    assert confined(json_data, b'{"width": [1, 2.5]}', name="a.json", mend=MEND) == {"width": [1, 2.5]}
    with pytest.raises(Refused, match="NaN is no number"):
        confined(json_data, b"[NaN]", name="a.json", mend=MEND)


def test_work_without_end_is_stopped():
    with pytest.raises(Refused, match="could not be read within 5 seconds of work") as refused:
        confined(sum, range(10**15), name="a.svg", mend=MEND)
    assert code(refused) == "file.too-slow"


def test_memory_without_bounds_is_refused():
    with pytest.raises(Refused, match="more than 550 MB") as refused:
        confined(bytearray, 600_000_000, name="a.svg", mend=MEND)
    assert code(refused) == "file.too-much"


def test_memory_is_limited_below_what_a_library_may_set_aside():
    """RLIMIT_DATA counts what can be written to, RLIMIT_AS all that is set aside (setrlimit(2))."""
    limits = replace(shelf_defaults().seeing, memory_mb=200)
    assert limits.address_mb > 1000
    with pytest.raises(Refused, match="more than 200 MB") as refused:
        confined(bytearray, 300_000_000, name="a.svg", mend=MEND, limits=limits)
    assert code(refused) == "file.too-much"
    assert confined(len, b"abc", name="a.svg", mend=MEND, limits=limits) == 3


def test_what_was_killed_is_no_fault_of_the_file_and_is_read_when_handed_in_again():
    """A machine without memory kills by SIGKILL (kill(2), oom_score_adj(5))."""
    with pytest.raises(Refused, match="ended from outside") as refused:
        confined(signal.raise_signal, signal.SIGKILL, name="a.svg", mend=MEND)
    (found,) = refused.value.findings
    assert (found.code, found.where, found.hint) == ("file.broken-off", "a.svg", "Hand it in once more.")
    assert confined(len, b"abc", name="a.svg", mend=MEND) == 3


def test_only_plain_files_are_read(tmp_path: Path):
    """A pipe that nobody writes to is waited for without end (fifo(7))."""
    pipe = tmp_path / "plan.json"
    os.mkfifo(pipe)
    large = tmp_path / "large.json"
    large.touch()
    os.truncate(large, MOST_BYTES + 1)
    for path, said in (
        (pipe, "no plain file"),
        (tmp_path, "a folder"),
        (tmp_path / "none", "no file none"),
        (large, "20 MB are read"),
        (Path("/dev/zero"), "no plain file"),
    ):
        with pytest.raises(Refused, match=said):
            file_bytes(path)


def test_a_json_file_is_read_within_the_limits_too(tmp_path: Path):
    """An empty object takes 64 bytes in CPython, and here three in the file; which limit is met first is the machine's."""
    path = tmp_path / "a.json"
    path.write_bytes(b"[" + b"{}," * 6_600_000 + b"{}]")
    with pytest.raises(Refused, match=r"more than 550 MB|5 seconds of work") as refused:
        read_json_file(path, len)
    assert refused.value.findings[0].where == "a.json"
    path.write_bytes(b"[{}, {}]")
    assert read_json_file(path, len) == 2
