"""Backups while somebody writes: what was acknowledged before each began, and what its restored copy holds."""

import subprocess
import threading
from pathlib import Path

from support_keeping import command, copied, tell
from support_processes import migrated, python

__all__ = ["acknowledged_but_not_restored", "watcher"]

_WATCH = """
import sys
import django; django.setup()
from studio.keeping.daily import DailyBackup
left = iter([False] * int(sys.argv[1]) + [True])
DailyBackup(wait=lambda: next(left)).run()
"""

_HELD = """
from inventory.models import Posting, StockMaterial
from django.conf import settings
lost = [n for n in StockMaterial.objects.values_list("photo", flat=True) if n and not (settings.MEDIA_ROOT / n).is_file()]
print(json.dumps([[str(key) for key in Posting.objects.values_list("key", flat=True)], lost]))
"""


def acknowledged_but_not_restored(world: dict[str, str], *, rounds: int) -> list[tuple[int, int, list[str], list[str]]]:
    """Back up so many times under load, then restore each copy in turn.

    Returns:
        Per round: how many acts were acknowledged before the backup began, how many more by its end, the acts of the
        former that the restored copy lacks, and photographs that it names and lacks.
    """
    migrated(world)
    said: list[str] = []
    enough = threading.Semaphore(0)
    writer = python(world, "tests/support_writer.py")
    listener = threading.Thread(target=_listen, args=(writer, said, enough))
    listener.start()
    copies: list[tuple[Path, list[str], int]] = []
    try:
        for _ in range(rounds):
            for _ in range(20):
                assert enough.acquire(timeout=120)
            before = list(said)
            where = copied(world, "--keep", str(rounds))
            copies.append((where, before, len(said) - len(before)))
    finally:
        writer.kill()
        listener.join()
        writer.stdout.close()
        writer.stderr.close()
        writer.stdin.close()
        writer.wait()
    found = []
    for where, before, more in copies:
        code, document = command(world, "restore", where)
        assert code == 0, document
        held, lost = tell(world, _HELD)
        found.append((len(before), more, sorted(set(before) - set(held)), lost))
    return found


def watcher(world: dict[str, str], *, looks: int) -> subprocess.Popen[str]:
    """A process that looks so many times whether a copy is due, and has it made, as each server does."""
    return python(world, "-c", _WATCH, str(looks))


def _listen(writer: subprocess.Popen[str], said: list[str], enough: threading.Semaphore) -> None:
    for line in writer.stdout:
        said.append(line.split()[0])
        enough.release()
