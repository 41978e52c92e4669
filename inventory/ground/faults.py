"""What the machine does to the books, in plain words: a full disk, a locked file, a server that is gone.

The question: which fault of the machine stands behind an exception, and what is a maker to do about it?

Codes are read off the exception and everything that it came from: errno (POSIX), SQLite's result codes
(sqlite.org/rescode.html), PostgreSQL's SQLSTATE (its manual, appendix A). What is no such fault is a fault of ours.
"""

import errno
from collections.abc import Iterator
from dataclasses import dataclass

from inventory.ground.findings import Finding, Refused, stop

__all__ = ["BEHIND", "DAMAGED", "FORBIDDEN", "FULL", "GONE", "LOCKED", "READ_ONLY", "Fault", "fault_of", "told"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One fault of the machine: a sentence, what to do, and the HTTP status of a page that tells of it."""

    code: str
    message: str
    hint: str
    status: int = 503

    def found(self, where: str = "database") -> Finding:
        """Return it as a finding about a place."""
        return stop(self.code, where, self.message, self.hint)


FULL = Fault(
    code="disk.full",
    message="The disk is full, so nothing more can be written.",
    hint="Free some space; what is kept can be read meanwhile.",
    status=507,
)
READ_ONLY = Fault(
    code="disk.read-only",
    message="The books cannot be written.",
    hint="Give the user that runs this program the right to write in the data folder, or mount its disk writable.",
)
FORBIDDEN = Fault(
    code="disk.forbidden",
    message="The user that runs this program may not open a file that it needs.",
    hint="Give that user the data folder and all that is in it.",
)
DISK = Fault(
    code="disk.failing",
    message="The disk did not read or write what it was asked to.",
    hint="Look whether the disk is still there and sound, and copy the data folder elsewhere.",
)
LOCKED = Fault(
    code="database.locked",
    message="Another program holds the books and did not let go in time.",
    hint="Try again; where it stays so, end the other program.",
)
DAMAGED = Fault(
    code="database.damaged",
    message="The file of the books is damaged.",
    hint="Stop the program, keep the file as it is, and put the last good backup in its place.",
)
GONE = Fault(
    code="database.gone",
    message="The database server does not answer.",
    hint="Start it, or look whether DATABASE_URL names it rightly; then try again.",
)
BEHIND = Fault(
    code="database.not-migrated",
    message="The database is new or of an earlier version.",
    hint="Run `python manage.py migrate` once.",
)
MISPLACED = Fault(
    code="disk.misplaced",
    message="A file or folder that is needed is not what stands at this place.",
    hint="Look what STUDIO_DATA names: it must be a folder.",
)

_ERRNO = {
    errno.ENOSPC: FULL,
    errno.EDQUOT: FULL,
    errno.EROFS: READ_ONLY,
    errno.EACCES: FORBIDDEN,
    errno.EPERM: FORBIDDEN,
    errno.EIO: DISK,
    errno.ENOTDIR: MISPLACED,
    errno.EISDIR: MISPLACED,
    errno.EEXIST: MISPLACED,
}
_SQLITE = {
    3: FORBIDDEN,
    5: LOCKED,
    6: LOCKED,
    8: READ_ONLY,
    10: DISK,
    11: DAMAGED,
    13: FULL,
    14: FORBIDDEN,
    26: DAMAGED,
}
"""By the primary result code: the lowest eight bits."""
_SQLSTATE = {
    "25006": READ_ONLY,
    "3D000": GONE,
    "40001": LOCKED,
    "40P01": LOCKED,
    "42703": BEHIND,
    "42P01": BEHIND,
    "53100": FULL,
    "53300": GONE,
    "55P03": LOCKED,
    "57P01": GONE,
    "57P02": GONE,
    "57P03": GONE,
    "57P05": GONE,
    "58030": DISK,
    "XX001": DAMAGED,
    "XX002": DAMAGED,
}
_GONE_CLASSES = ("08", "28")
"""Classes of SQLSTATE: connection exception, invalid authorization."""
_NOT_THERE = ("no such table", "no such column", "has no column named")


def fault_of(error: BaseException) -> Fault | None:
    """Return the machine's fault behind an exception; None for a fault of ours."""
    for cause in _causes(error):
        found = _ERRNO.get(cause.errno or 0) if isinstance(cause, OSError) else _of_database(cause)
        if found is not None:
            return found
    return None


def told(error: Exception) -> tuple[Finding, ...] | None:
    """Return what is said of an exception to whoever ran a command: a refusal's findings, or the machine's fault."""
    if isinstance(error, Refused):
        return error.findings
    fault = fault_of(error)
    if fault is None:
        return None
    places = (str(cause.filename) for cause in _causes(error) if isinstance(cause, OSError) and cause.filename)
    return (fault.found(next(places, "database")),)


def _causes(error: BaseException | None) -> Iterator[BaseException]:
    seen: set[int] = set()
    while error is not None and id(error) not in seen:
        seen.add(id(error))
        yield error
        error = error.__cause__ or (None if error.__suppress_context__ else error.__context__)


def _of_database(error: BaseException) -> Fault | None:
    """The drivers are not imported here: each is known by what its exceptions carry."""
    code = getattr(error, "sqlite_errorcode", None)
    if isinstance(code, int):
        if code == 1 and any(words in str(error) for words in _NOT_THERE):
            return BEHIND
        return _SQLITE.get(code & 0xFF)
    driver = type(error).__module__.partition(".")[0]
    if driver != "psycopg":
        return None
    state = getattr(error, "sqlstate", None)
    if state is None:
        # Without a word from the server, its connection is what failed.
        return GONE if type(error).__name__ in ("OperationalError", "InterfaceError", "ConnectionTimeout") else None
    return GONE if state.startswith(_GONE_CLASSES) else _SQLSTATE.get(state)
