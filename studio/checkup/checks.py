"""Facts of the machine and the books to findings: a stop where the books are in danger, a warning elsewhere."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from inventory.ground.faults import BEHIND, DAMAGED, Fault
from inventory.ground.findings import Finding, stop, warn
from studio.defaults import studio_defaults

__all__ = ["CHECKS", "Facts", "found"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What was read off the machine and the books.

    Attributes:
        folder: where the data are kept.
        free_bytes: what is free on its disk.
        unwritable: files and folders that this program has to write and may not.
        open_to_others: files that other users of the machine can read.
        fault: why the database could not be asked; then nothing else is known of it.
        damage: what the database says of its own damage, a line each.
        behind, ahead: migrations that it lacks, and that this program does not know.
        missing_guards: names of triggers that it lacks.
        last_entry: the latest moment that the clock gave an entry; None in new books.
        now: what the clock says.
    """

    folder: str
    free_bytes: int
    unwritable: tuple[str, ...]
    open_to_others: tuple[str, ...]
    fault: Fault | None
    damage: tuple[str, ...]
    behind: tuple[str, ...]
    ahead: tuple[str, ...]
    missing_guards: tuple[str, ...]
    last_entry: datetime | None
    now: datetime


def found(facts: Facts) -> tuple[Finding, ...]:
    """Return what all checks find, in their order."""
    return tuple(finding for check in CHECKS.values() for finding in check(facts))


def _reached(facts: Facts) -> Iterator[Finding]:
    if facts.fault is not None:
        yield facts.fault.found()


def _damage(facts: Facts) -> Iterator[Finding]:
    if facts.damage:
        yield stop(DAMAGED.code, "database", f"{DAMAGED.message} It says: {facts.damage[0][:120]}.", DAMAGED.hint)


def _schema(facts: Facts) -> Iterator[Finding]:
    if facts.ahead:
        yield stop(
            "database.newer",
            "database",
            f"The database is of a newer version of this program: it has {facts.ahead[-1]}.",
            "Start that version, or put back a backup from before it.",
        )
    elif facts.behind:
        yield BEHIND.found()


def _guards(facts: Facts) -> Iterator[Finding]:
    # Of a database that is behind, migrate installs what is missing.
    if facts.missing_guards and not facts.behind:
        others = f" and {len(facts.missing_guards) - 1} more" if len(facts.missing_guards) > 1 else ""
        yield stop(
            "database.guards",
            "database",
            f"The database would let kept rows be changed: its guard {facts.missing_guards[0]}{others} is missing.",
            "Run `python manage.py migrate`, which puts guards back, then `python manage.py audit`.",
        )


def _clock(facts: Facts) -> Iterator[Finding]:
    last, figures = facts.last_entry, studio_defaults().machine
    if last is None:
        return
    # Python subtracts the readings of one zone as a wall clock shows them, which goes wrong by an hour in two nights a year.
    past = facts.now.astimezone(UTC) - last.astimezone(UTC)
    if -past > timedelta(minutes=figures.clock_slack_minutes):
        yield stop(
            "clock.behind",
            "clock",
            f"The clock says {_moment(facts.now)}, before the last entry of the books at {_moment(last)}.",
            "Set the clock of this machine; where that entry was made under a wrong clock, serve with --clock-is-right.",
        )
    elif past > timedelta(days=figures.far_ahead_days):
        yield warn(
            "clock.far-ahead",
            "clock",
            f"The clock says {_moment(facts.now)}, {past.days} days after the last entry of the books.",
            "Look whether the clock of this machine is right; until something is entered, no month can be closed.",
        )


def _space(facts: Facts) -> Iterator[Finding]:
    least = studio_defaults().machine.least_free_mb
    if facts.free_bytes < least * 1_000_000:
        yield warn(
            "disk.nearly-full",
            facts.folder,
            f"Only {facts.free_bytes / 1e6:.0f} MB are free on the disk of the data; {least} MB should be.",
            "Free some space.",
        )


def _permissions(facts: Facts) -> Iterator[Finding]:
    for place in facts.unwritable:
        yield warn(
            "disk.forbidden",
            place,
            "The user that runs this program may not write here, so nothing can be saved.",
            "Give that user the data folder and all that is in it.",
        )
    for place in facts.open_to_others:
        yield warn(
            "disk.open-to-others",
            place,
            "Other users of this machine can read this.",
            f"Run `chmod -R go= {facts.folder}`.",
        )


def _moment(at: datetime) -> str:
    return f"{at.day} {at:%B %Y, %H:%M}"


CHECKS: dict[str, Callable[[Facts], Iterator[Finding]]] = {
    "database": _reached,
    "damage": _damage,
    "schema": _schema,
    "guards": _guards,
    "clock": _clock,
    "space": _space,
    "permissions": _permissions,
}
"""By what each looks at."""
