"""A copy a day by itself while the site is served: a thread that looks now and then, and a process that makes the copy."""

import logging
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from django.conf import settings

from inventory.ground.findings import Refused
from studio.defaults import studio_defaults
from studio.keeping.backing_up import in_use_here, is_copy_due

__all__ = ["DailyBackup", "served_here"]

logger = logging.getLogger(__name__)

_BACKUP = (sys.executable, "manage.py", "backup", "--when-due")


class DailyBackup(threading.Thread):
    """Makes a copy when the last good one is older than was chosen. Nothing that fails ends it; each failure is logged.

    `wait` returns True once it is time to end, else False after a while; `command` makes the copy.
    """

    def __init__(self, *, wait: Callable[[], bool] | None = None, command: Sequence[str] = _BACKUP) -> None:
        super().__init__(name="daily-backup", daemon=True)
        self._ended = threading.Event()
        self._wait = wait or self._wait_a_while
        self._command = command
        self._making: subprocess.Popen[str] | None = None

    def run(self) -> None:
        while not self._wait():
            try:
                self._look()
            except Refused as refusal:
                logger.error("No copy of the books was made: %s", refusal)
            except Exception:
                logger.exception("No copy of the books was made")

    def end(self) -> None:
        """Look no more; a copy under way is given up."""
        self._ended.set()
        if self._making is not None:
            self._making.terminate()

    def _wait_a_while(self) -> bool:
        return self._ended.wait(60 * studio_defaults().keeping.look_minutes)

    def _look(self) -> None:
        if not is_copy_due(settings.DATA_DIR):
            return
        self._making = subprocess.Popen(
            self._command,
            cwd=settings.BASE_DIR,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            errors="replace",
        )
        _, words = self._making.communicate()
        if self._making.returncode and not self._ended.is_set():
            said = words.strip() or f"its process ended with {self._making.returncode}."
            logger.error("No good copy of the books was made: %s", said)


@contextmanager
def served_here() -> Iterator[None]:
    """Hold the data folder while the site is served from it, and copy its books every day.

    Raises:
        Refused: the folder's books are being replaced.
    """
    daily = DailyBackup()
    with in_use_here():
        daily.start()
        try:
            yield
        finally:
            daily.end()
