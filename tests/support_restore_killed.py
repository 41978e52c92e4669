"""A restore that is broken off: a program on the books in STUDIO_DATA, its arguments a copy, and where to break off.

The last argument is the number of the step before which the process kills itself, or a folder into which the data folder is
copied before each step, as a kill at that moment would leave it. Steps are all that changes a name between the moves'
being written down and the restore's end. Prints how many there were.
"""

import os
import shutil
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import django


class Steps:
    """Counts the steps; `at` is called before each with its number, once the journal is to be written."""

    def __init__(self, at: Callable[[int], None]) -> None:
        self.at = at
        self.count = 0

    def before(self, function: Any, *, begins: bool = False) -> Any:
        """The function with a step before it."""

        def stepped(*args: Any, **kwargs: Any) -> Any:
            if self.count or begins:
                self.count += 1
                self.at(self.count)
            return function(*args, **kwargs)

        return stepped


def _main(copy: Path, where: str) -> None:
    from django.conf import settings

    from studio.keeping import databases, replacing, restoring

    def killed(step: int) -> None:
        if str(step) == where:
            os.kill(os.getpid(), signal.SIGKILL)

    def copied(step: int) -> None:
        shutil.copytree(settings.DATA_DIR, Path(where) / f"{step:02}", ignore=shutil.ignore_patterns("copies"))

    steps = Steps(killed if where.isdigit() else copied)
    replacing.write_whole = steps.before(replacing.write_whole, begins=True)
    for name in ("rename", "mkdir", "unlink"):
        setattr(Path, name, steps.before(getattr(Path, name)))
    databases.PostgresqlBooks.administer = steps.before(databases.PostgresqlBooks.administer)  # type: ignore[method-assign]
    restoring.restore(copy)
    sys.stdout.write(str(steps.count))


if __name__ == "__main__":
    django.setup()
    _main(Path(sys.argv[1]), sys.argv[2])
