"""What is wrong, doubtful or worth knowing about a maker's data, as values.

A fault in what a person handed in is a `Finding`, collected in one pass so that one upload gets one full
list; a fault in this program is an exception. `Refused` carries findings to whoever has to answer for them
(a form, a command): at least one of them is a stop.

Words: *stop* refuses the work, *warn* lets it go on and says what may go wrong, *note* tells what was assumed. A *doubt*
is a stop that a person may answer with yes: what is unlikely and can be.
"""

import hashlib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

__all__ = [
    "Finding",
    "Refused",
    "Severity",
    "doubt",
    "doubts_token",
    "is_doubt",
    "must_be_sure",
    "note",
    "refuse",
    "stop",
    "stops",
    "warn",
]

_DOUBT = "doubt."
_HALF_CHARACTER = re.compile("[\ud800-\udfff]")


class Severity(StrEnum):
    """How much a finding weighs. The values are those that commands print."""

    STOP = "stop"
    WARN = "warn"
    NOTE = "note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One sentence about one place.

    Attributes:
        code: stable, dotted, lower case (`pattern.seam-does-not-true`); tests and scripts may rely on it.
        where: the place in the maker's words or the path in the file (`seam 3`, `options[1].cloths.outer`).
        message: one full sentence with the offending value and the limit.
        hint: the mend, one sentence; empty where the message already says it.
    """

    code: str
    severity: Severity
    where: str
    message: str
    hint: str = ""


def stop(code: str, where: str, message: str, hint: str = "") -> Finding:
    """Return a finding that refuses the work."""
    return _finding(code, Severity.STOP, where, message, hint)


def warn(code: str, where: str, message: str, hint: str = "") -> Finding:
    """Return a finding that lets the work go on."""
    return _finding(code, Severity.WARN, where, message, hint)


def note(code: str, where: str, message: str, hint: str = "") -> Finding:
    """Return a finding that says what was assumed."""
    return _finding(code, Severity.NOTE, where, message, hint)


def _finding(code: str, severity: Severity, where: str, message: str, hint: str) -> Finding:
    """What a file says is quoted in findings, and may hold halves of characters, which nothing can show."""
    where, message, hint = (_HALF_CHARACTER.sub("\ufffd", text) for text in (where, message, hint))
    return Finding(code=code, severity=severity, where=where, message=message, hint=hint)


def stops(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return those findings that refuse the work."""
    return tuple(finding for finding in findings if finding.severity is Severity.STOP)


class Refused(Exception):
    """Input that cannot be worked with.

    Attributes:
        findings: at least one stop, first found first.
        beside: what a command tells with them, by key, as plain data: how far the work came until it was refused.
    """

    def __init__(self, findings: Iterable[Finding], *, beside: Mapping[str, object] | None = None) -> None:
        self.findings = tuple(findings)
        self.beside = dict(beside or {})
        super().__init__(" ".join(finding.message for finding in stops(self.findings)))


def refuse(code: str, where: str, message: str, hint: str = "") -> Refused:
    """Return the exception for a single stop: `raise refuse(…)`."""
    return Refused([stop(code, where, message, hint)])


def doubt(code: str, where: str, message: str, hint: str = "") -> Finding:
    """Return a stop that can be answered with yes; its code begins with `doubt.`."""
    return stop(f"{_DOUBT}{code}", where, message, hint)


def is_doubt(finding: Finding) -> bool:
    """Tell whether a finding can be answered with yes."""
    return finding.code.startswith(_DOUBT)


def doubts_token(doubts: Iterable[Finding]) -> str:
    """Return what a yes to exactly these doubts says, so that it answers no others."""
    return hashlib.sha256("\n".join(f"{found.code} {found.message}" for found in doubts).encode()).hexdigest()[:16]


def must_be_sure(doubts: Sequence[Finding], sure_of: str | None) -> None:
    """Refuse what is doubted unless `sure_of` is the yes to it; None where nobody is there to be asked.

    Raises:
        Refused: the doubts.
    """
    if doubts and sure_of is not None and sure_of != doubts_token(doubts):
        raise Refused(doubts)
