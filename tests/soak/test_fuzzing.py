"""Ten thousand harmed files a reader: each is read or refused in a sentence, within the limits of `inventory/defaults.json`."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from readers_of_files import READERS_OF_FILES
from support_processes import PROJECT

from inventory.ground.confined import MOST_MEMORY_BYTES

FILES = 10_000


@pytest.mark.parametrize("reader", READERS_OF_FILES)
def test_harmed_files_are_read_or_refused(reader: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    report = tmp_path / "fuzz.report"
    done = subprocess.run(
        [sys.executable, str(PROJECT / "tests" / "soak" / "fuzz.py"), reader, str(FILES), str(report)],
        cwd=PROJECT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    figures = json.loads(report.read_text(encoding="utf-8"))
    faults = figures.pop("faults")
    with capsys.disabled():
        sys.stdout.write(f"\n{reader}: {figures}\n")
    assert figures["files"] == FILES
    assert faults == []
    assert figures["over_time"] == figures["over_memory"] == 0
    assert figures["peak_mb"] * 1_000_000 < MOST_MEMORY_BYTES
