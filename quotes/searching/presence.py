"""Whether a worker is there: a lock on a file that each worker shares while it lives, however it ends."""

import fcntl
import os
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from django.conf import settings

__all__ = ["is_worker_there", "present"]

_looking = threading.Lock()
"""Who looks holds the file for a moment; another who looks meanwhile would take that for a worker."""


def is_worker_there() -> bool:
    """Tell whether a worker draws lays for these books."""
    with _looking:
        try:
            handle = os.open(settings.LAY_WORKER_LOCK, os.O_RDWR | os.O_CLOEXEC)
        except OSError:
            return False
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
        finally:
            os.close(handle)
        return False


@contextmanager
def present(*, alone: Callable[[], None]) -> Iterator[None]:
    """Be there as a worker.

    Args:
        alone: is called first where no other worker is there, before any other can be: what seems to run is nobody's.
    """
    handle = os.open(settings.LAY_WORKER_LOCK, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        with suppress(BlockingIOError):
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            alone()
        fcntl.flock(handle, fcntl.LOCK_SH)
        yield
    finally:
        os.close(handle)
