"""A copy of the books proved by opening it: a program of its own, whose database is the copy; prints JSON.

`python -m studio.keeping.proof [migrate]`: with `migrate` an older copy is brought up to today's schema first. What it
finds is in `findings`; a stop means that the copy is not good.
"""

import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from inventory.ground.codec import plain
from inventory.ground.findings import Finding, stop

__all__ = ["Proof"]

_MOST_NAMED = 20
"""Differences that are named one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What a copy says when it is opened.

    Attributes:
        schema: the last migration of each app.
        counts: rows by table.
        photographs: the photographs that its rows name.
        findings: each that is wrong.
        is_behind: whether its schema is of an earlier version; then nothing else was looked at than whether it is whole.
    """

    schema: dict[str, str] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    photographs: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    is_behind: bool = False


def main(wishes: list[str]) -> None:
    """Print the proof of the database of this process."""
    import django

    django.setup()
    from django.core.management import call_command
    from django.db import DatabaseError, connection

    try:
        if "migrate" in wishes:
            call_command("migrate", verbosity=0, interactive=False)
        proof = _proof()
    except DatabaseError as error:
        words = str(error).strip().partition("\n")[0]
        proof = Proof(findings=(stop("copy.damaged", "database", f"The copy cannot be read: {words.rstrip('.')}."),))
    finally:
        connection.close()
    sys.stdout.write(json.dumps(plain(proof)))


def _proof() -> Proof:
    from inventory.ground.site.migrated import schema_of
    from studio.keeping.tables import counts, photographs, schema

    findings = tuple(_whole())
    if schema_of().behind:
        return Proof(schema=schema(), findings=findings, is_behind=True)
    findings = findings or (*_guarded(), *_audited())
    return Proof(schema=schema(), counts=counts(), photographs=photographs(), findings=findings)


def _whole() -> Iterator[Finding]:
    """What the database says of itself."""
    from django.db import connection

    if connection.vendor != "sqlite":
        return
    with connection.cursor() as cursor:
        said = [row[0] for row in cursor.execute(f"PRAGMA integrity_check({_MOST_NAMED})").fetchall()]
        if said != ["ok"]:
            yield stop("copy.damaged", "database", f"The copy is damaged: {said[0].splitlines()[0]}.")
            return
        for table, row, parent, _ in cursor.execute("PRAGMA foreign_key_check").fetchmany(_MOST_NAMED):
            yield stop("copy.broken-link", f"{table} {row}", f"Its row in {parent} is missing.")


def _guarded() -> Iterator[Finding]:
    from django.core import checks

    for found in checks.run_checks(tags=[checks.Tags.database], databases=["default"]):
        yield stop("copy.not-guarded", "database", found.msg, found.hint or "")


def _audited() -> Iterator[Finding]:
    from inventory.stock.audit import audit

    differences: Any = audit().differences
    for found in differences[:_MOST_NAMED]:
        words = f"expected {found.expected}, found {found.found}."
        yield stop("copy.audit", f"{found.table} {found.row}", f"The audit differs: {words}")


if __name__ == "__main__":
    main(sys.argv[1:])
