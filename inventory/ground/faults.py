"""What the machine does to the books, in plain words: a full disk, a locked file, a server that is gone.

The question: which fault of the machine stands behind an exception, and what is a maker to do about it?

Codes are read off the exception and everything that it came from: errno (POSIX), SQLite's result codes
(sqlite.org/rescode.html), PostgreSQL's SQLSTATE (its manual, appendix A). What is no such fault is a fault of ours.
"""

import errno
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from inventory.ground.findings import Finding, Refused, stop
from inventory.ground.materials import UnknownKind

__all__ = [
    "BEHIND",
    "DAMAGED",
    "FORBIDDEN",
    "FULL",
    "GONE",
    "LOCKED",
    "READ_ONLY",
    "Fault",
    "exit_code",
    "fault_of",
    "told",
]


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
    hint="Look whether it has room, is still there and is sound; where it is not, copy the data folder elsewhere.",
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
NOT_LET_IN = Fault(
    code="setting.database-login",
    message="The database server does not let this user in.",
    hint="Write the right user and password into DATABASE_URL.",
)
NOT_NAMED = Fault(
    code="setting.database-name",
    message="The database server has no database of this name.",
    hint="Write the right name into DATABASE_URL, or create that database.",
)
BEHIND = Fault(
    code="database.not-migrated",
    message="The database is new or of an earlier version.",
    hint="Run `python manage.py migrate` once.",
)
LATER = Fault(
    code="database.later-row",
    message="A material of this is of a kind that this version does not know.",
    hint="Start the version that wrote it, or a later one.",
)
MISPLACED = Fault(
    code="disk.misplaced",
    message="A file or folder that is needed is not what stands at this place.",
    hint="Look what STUDIO_DATA names: it must be a folder.",
)

_SETTING = "setting."
"""Begins the codes of what an environment variable says wrongly."""
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
    "28000": NOT_LET_IN,
    "28P01": NOT_LET_IN,
    "3D000": NOT_NAMED,
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
_GONE_CLASS = "08"
"""Class of SQLSTATE: connection exception."""
_WHILE_CONNECTING = {
    re.compile(
        'authentication failed|no password supplied|no pg_hba.conf entry|role ".*" (does not|is not)'
    ): NOT_LET_IN,
    re.compile('database ".*" does not exist'): NOT_NAMED,
}
"""By what the server says before there is a connection; its code is not handed on then."""
_NOT_THERE = ("no such table", "no such column", "has no column named")


def fault_of(error: BaseException) -> Fault | None:
    """Return the machine's fault behind an exception; None for a fault of ours."""
    for cause in _causes(error):
        found = _ERRNO.get(cause.errno or 0) if isinstance(cause, OSError) else _of_books(cause)
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


def exit_code(findings: Iterable[Finding]) -> int:
    """Return how a command leaves that findings refuse: 2 where a setting has to be written otherwise, else 1."""
    return 2 if any(found.code.startswith(_SETTING) for found in findings) else 1


def _causes(error: BaseException | None) -> Iterator[BaseException]:
    seen: set[int] = set()
    while error is not None and id(error) not in seen:
        seen.add(id(error))
        yield error
        error = error.__cause__ or (None if error.__suppress_context__ else error.__context__)


def _of_books(error: BaseException) -> Fault | None:
    return LATER if isinstance(error, UnknownKind) else _of_database(error)


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
        if type(error).__name__ not in ("OperationalError", "InterfaceError", "ConnectionTimeout"):
            return None
        # Without a word from the server, its connection is what failed.
        return next((fault for words, fault in _WHILE_CONNECTING.items() if words.search(str(error))), GONE)
    return GONE if state.startswith(_GONE_CLASS) else _SQLSTATE.get(state)
