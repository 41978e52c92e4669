"""Processes of a test's own, which share a database of their own (the fixture `world`)."""

import subprocess
import sys
from pathlib import Path

__all__ = ["PROJECT", "python", "said"]

PROJECT = Path(__file__).parents[1]


def python(world: dict[str, str], *arguments: str) -> subprocess.Popen[str]:
    """A process that runs Python with these arguments."""
    return subprocess.Popen(
        [sys.executable, *arguments],
        env=world,
        cwd=PROJECT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def said(process: subprocess.Popen[str]) -> str:
    """What a process still has to say; it ended well."""
    out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err[-2000:]
    return out
