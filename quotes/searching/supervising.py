"""A worker for as long as the site is served: a process of its own, started again whenever it ends."""

import logging
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from time import monotonic

from django.conf import settings

__all__ = ["WorkerProcess", "lays_drawn_here"]

logger = logging.getLogger(__name__)

_WORKER = (sys.executable, "manage.py", "lay_worker", "--until-input-ends")
SOON_SECONDS = 10.0
"""A worker that ends sooner after its start is not started again at once."""
LONGEST_PAUSE_SECONDS = 60.0
ENDING_SECONDS = 3.0
"""A worker that takes longer to end is killed: what it was at waits all the same."""


class WorkerProcess(threading.Thread):
    """Keeps one worker at work. It is asked to end with the site, and ends by itself where the site is killed."""

    def __init__(self, *, command: Sequence[str] = _WORKER) -> None:
        super().__init__(name="lay-worker", daemon=True)
        self._command = command
        self._ended = threading.Event()
        self._starting = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None

    def run(self) -> None:
        pause = 0.0
        while not self._ended.wait(pause):
            started = monotonic()
            try:
                process = self._new_process()
            except OSError:
                logger.exception("The worker that draws lays was not started")
            else:
                if process is None:
                    return
                with process:
                    status = process.wait()
                if not self._ended.is_set():
                    logger.warning("The worker that draws lays ended with %s and is started again", status)
            is_soon = monotonic() - started < SOON_SECONDS
            pause = min(max(1.0, 2 * pause), LONGEST_PAUSE_SECONDS) if is_soon else 0.0

    def end(self) -> None:
        """End the worker; what it was at waits for the next one."""
        with self._starting:
            self._ended.set()
        if self._process is None:
            return
        self._process.terminate()
        try:
            self._process.wait(ENDING_SECONDS)
        except subprocess.TimeoutExpired:
            self._process.kill()

    def _new_process(self) -> subprocess.Popen[bytes] | None:
        with self._starting:
            if self._ended.is_set():
                return None
            # Its input ends with this process, however that ends. What is typed at the terminal is not for it.
            self._process = subprocess.Popen(
                self._command,
                cwd=settings.BASE_DIR,
                stdin=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                start_new_session=True,
            )
            return self._process


@contextmanager
def lays_drawn_here(*, in_idle_time: bool) -> Iterator[None]:
    """Have a worker draw lays for as long as the site is served; `in_idle_time`, whether also what nobody asked for."""
    worker = WorkerProcess(command=_WORKER if in_idle_time else (*_WORKER, "--no-idle-lays"))
    worker.start()
    try:
        yield
    finally:
        worker.end()
