"""Folders that are whole or not there: written under another name, flushed, then renamed; locked by who uses them."""

import errno
import fcntl
import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from inventory.ground.codec import Document
from inventory.ground.findings import Refused, refuse

__all__ = [
    "DOUBTFUL",
    "building",
    "flush",
    "flushed",
    "kept_in",
    "locked",
    "nothing_for_others",
    "refusals_of",
    "stamp",
    "thin_out",
    "write_whole",
]

DOUBTFUL = "-doubtful"
"""Ends the name of a copy that did not prove good."""
_MOST_DOUBTFUL = 1
_STAMP = re.compile(r"\d{4}-\d\d-\d\dT\d\d-\d\d-\d\d\.\d{3}Z")
_PARTIAL = ".partial-"


def stamp(moment: datetime) -> str:
    """Return the name of a moment, by UTC to the millisecond; names sort as their moments do.

    >>> stamp(datetime(2027, 3, 28, 2, 30, 5, tzinfo=UTC))
    '2027-03-28T02-30-05.000Z'
    """
    utc = moment.astimezone(UTC)
    return f"{utc:%Y-%m-%dT%H-%M-%S}.{utc.microsecond // 1000:03}Z"


@contextmanager
def nothing_for_others() -> Iterator[None]:
    """What is written in here can be read by its owner alone."""
    before = os.umask(0o077)
    try:
        yield
    finally:
        os.umask(before)


@contextmanager
def refusals_of(where: Path) -> Iterator[None]:
    """Say in one sentence what the disk refuses in here. Raises Refused."""
    try:
        yield
    except OSError as error:
        place = str(error.filename or where)
        match error.errno:
            case errno.ENOSPC | errno.EDQUOT | errno.EFBIG:
                found = refuse("disk.full", place, "The disk is full.", "Make room, or name a folder on another disk.")
            case errno.EACCES | errno.EPERM | errno.EROFS:
                found = refuse("disk.permission", place, "This may not be read or written.", "Name another folder.")
            case errno.ENOENT:
                found = refuse("disk.not-found", place, "This is not there.", "Name a folder that is.")
            case errno.ENAMETOOLONG:
                found = refuse("disk.name-too-long", f"{place[:60]}…", "This name is too long.", "Name a shorter one.")
            case errno.ENOTDIR | errno.EEXIST:
                found = refuse("disk.not-a-folder", place, "A file of this name is there already.", "Name a folder.")
            case _:
                found = refuse("disk.fault", place, f"The disk refused: {error.strerror or error}.")
        raise found from None


@contextmanager
def locked(path: Path, *, alone: bool, refusal: Refused) -> Iterator[None]:
    """Hold a lock file, together with others or `alone`; it is let go when the process ends, however it ends.

    Raises:
        Refused: `refusal`, where another holds it so that both cannot; what the disk refuses.
    """
    with refusals_of(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
    try:
        try:
            fcntl.flock(handle, (fcntl.LOCK_EX if alone else fcntl.LOCK_SH) | fcntl.LOCK_NB)
        except BlockingIOError:
            raise refusal from None
        yield
    finally:
        os.close(handle)


@contextmanager
def building(folder: Path) -> Iterator[Path]:
    """Give an empty folder beside its place; renamed to `folder` when all went well, else taken away."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    # Of its own name: two that write the same folder at once leave each other's alone.
    partial = Path(tempfile.mkdtemp(prefix=f"{_PARTIAL}{folder.name}", dir=folder.parent))
    try:
        yield partial
        flushed(partial)
        partial.rename(folder)
        flush(folder.parent)
    finally:
        shutil.rmtree(partial, ignore_errors=True)


def flushed(folder: Path) -> None:
    """Bring all files of a folder, and their names, to the disk itself."""
    for at, _, names in os.walk(folder):
        for name in names:
            flush(Path(at, name))
        flush(Path(at))


def flush(path: Path) -> None:
    """Bring one file, or the names in one folder, to the disk itself."""
    handle = os.open(path, os.O_RDONLY | os.O_CLOEXEC)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def write_whole(path: Path, document: Document) -> None:
    """Write a JSON document so that its file is the old one or the new one, whenever the power fails."""
    new = path.with_name(f"{path.name}.new")
    new.write_text(json.dumps(document, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    flush(new)
    new.replace(path)
    flush(path.parent)


def kept_in(folder: Path) -> list[Path]:
    """Return the good copies of a folder, the oldest first; none where it cannot be read."""
    return _named(folder, "")


def thin_out(folder: Path, *, keep: int, now: datetime) -> list[Path]:
    """Take away all but the last `keep` good copies, the last doubtful one, and copies that were broken off.

    Copies from after `now` were made under a clock that stood wrong, and go first. Return what went.
    """
    broken_off = [path for path in folder.glob(f"{_PARTIAL}*") if _STAMP.match(path.name.removeprefix(_PARTIAL))]
    too_many = [*_by_age(folder, "", now)[:-keep], *_by_age(folder, DOUBTFUL, now)[:-_MOST_DOUBTFUL]]
    for path in [*broken_off, *too_many]:
        shutil.rmtree(path, ignore_errors=True)
    return too_many


def _by_age(folder: Path, ending: str, now: datetime) -> list[Path]:
    return sorted(_named(folder, ending), key=lambda path: (path.name.removesuffix(ending) <= stamp(now), path.name))


def _named(folder: Path, ending: str) -> list[Path]:
    try:
        return sorted(
            path
            for path in folder.iterdir()
            if _STAMP.fullmatch(path.name.removesuffix(ending)) and path.name.endswith(ending)
        )
    except OSError:
        return []
