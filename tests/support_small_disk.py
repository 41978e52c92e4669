"""A small disk of a test's own, which can be filled: a file system in memory, where the system mounts one for this user."""

import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

__all__ = ["emptied", "filled", "mounted", "remounted_read_only"]

_FILLER = "filler"
_CHUNK = 4096


@contextmanager
def mounted(folder: Path, *, kilobytes: int) -> Iterator[bool]:
    """Mount a disk of that size at a folder while this lasts; says whether the system let it."""
    folder.mkdir(exist_ok=True)
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k,mode=0700", "tmpfs", str(folder)],
        capture_output=True,
        check=False,
    )
    if done.returncode:
        yield False
        return
    try:
        yield True
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


@contextmanager
def remounted_read_only(folder: Path) -> Iterator[None]:
    """What is mounted at a folder may only be read while this lasts."""
    subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
    try:
        yield
    finally:
        subprocess.run(["mount", "-o", "remount,rw", str(folder)], check=True)


def filled(folder: Path) -> None:
    """Fill a disk to its last block."""
    with (folder / _FILLER).open("ab", buffering=0) as filler:
        try:
            while filler.write(b"\0" * _CHUNK):
                pass
        except OSError:
            return


def emptied(folder: Path) -> None:
    """Take away what filled it."""
    (folder / _FILLER).unlink()
