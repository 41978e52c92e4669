"""Books that this process may read and not write: how they are told, and opened."""

import os
from pathlib import Path

__all__ = ["may_only_be_read", "read_only_name"]


def may_only_be_read(file: Path) -> bool:
    """Tell whether a database in a file may be read and not written, or not the files that SQLite writes beside it."""
    return file.exists() and not (os.access(file, os.W_OK) and os.access(file.parent, os.W_OK))


def read_only_name(file: Path) -> str:
    """Return the name by which SQLite opens a database that may only be read (sqlite.org/uri.html).

    Where its log lies beside it, that is read along, as somebody else may write. Without one the file is whole as it is, and
    opened as one that does not change: SQLite would else want to write a log.
    """
    log, shared = (Path(f"{file}{ending}") for ending in ("-wal", "-shm"))
    has_log = log.exists() and (shared.exists() or log.stat().st_size > 0)
    return f"{file.resolve().as_uri()}?mode=ro{'' if has_log else '&immutable=1'}"
