"""The data folder belongs to its owner alone: the database, the key, photographs, copies, and whatever is added to it."""

import os
import stat
from pathlib import Path

__all__ = ["FILE_MODE", "FOLDER_MODE", "keep_private"]

FILE_MODE, FOLDER_MODE = 0o600, 0o700
_OTHERS = stat.S_IRWXG | stat.S_IRWXO


def keep_private(folder: Path) -> None:
    """Give nobody else a right to what this process writes from now on, and take such rights from what a folder holds.

    Links are not followed, and what belongs to somebody else stays as it is.
    """
    os.umask(_OTHERS)
    _take_rights(folder)
    for path, folders, files in os.walk(folder):
        for name in (*folders, *files):
            _take_rights(Path(path, name))


def _take_rights(path: Path) -> None:
    try:
        mode = path.lstat().st_mode
        if not stat.S_ISLNK(mode) and mode & _OTHERS:
            path.chmod(stat.S_IMODE(mode) & ~_OTHERS)
    except OSError:
        # It went in the meantime, or is not ours to change.
        return
