"""Rows that never change: rules kept by the database itself, whoever writes to it.

SQLite loses triggers when a migration remakes their table, so they are no part of migrations: each app's are dropped
before it is migrated and installed anew afterwards, and a system check tells where one is missing.
"""

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from django.apps import AppConfig
from django.core import checks
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models.signals import post_migrate, pre_migrate

__all__ = ["Trigger", "any_changed", "append_only", "guard", "missing_guards", "put_guards_back"]

_GUARDS: dict[str, tuple["Trigger", ...]] = {}
"""What each app guards, by its label."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trigger:
    """Refuses an `event` ("INSERT", "UPDATE" or "DELETE") on a row of `table` for which `when` (SQL over OLD and NEW) holds.

    `vendor` names the one database that it is for; empty for all. `when` may look into other tables.
    """

    name: str
    table: str
    event: str
    when: str
    message: str
    vendor: str = ""

    def install_sql(self, vendor: str) -> list[str]:
        """Statements that create the trigger."""
        if vendor == "postgresql":
            return [
                # PostgreSQL's WHEN takes no subquery, so the function asks.
                f"CREATE OR REPLACE FUNCTION {self.name}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN "
                f"IF {self.when} THEN RAISE integrity_constraint_violation USING MESSAGE = '{self.message}'; END IF; "
                f"RETURN {'OLD' if self.event == 'DELETE' else 'NEW'}; END $$",
                f"CREATE TRIGGER {self.name} BEFORE {self.event} ON {self.table} FOR EACH ROW "
                f"EXECUTE FUNCTION {self.name}()",
            ]
        return [
            f"CREATE TRIGGER {self.name} BEFORE {self.event} ON {self.table} FOR EACH ROW "
            f"WHEN {self.when} BEGIN SELECT RAISE(ABORT, '{self.message}'); END"
        ]

    def drop_sql(self, vendor: str) -> str:
        """The statement that takes the trigger away where it is."""
        return f"DROP TRIGGER IF EXISTS {self.name}" + (f" ON {self.table}" if vendor == "postgresql" else "")


def any_changed(columns: Iterable[str]) -> str:
    """Return the condition that an update changes one of the columns.

    >>> any_changed(["day", "note"])
    'NEW.day IS DISTINCT FROM OLD.day OR NEW.note IS DISTINCT FROM OLD.note'
    """
    return " OR ".join(f"NEW.{column} IS DISTINCT FROM OLD.{column}" for column in columns)


def append_only(table: str, name: str, message: str, *, update_when: str = "TRUE") -> tuple[Trigger, ...]:
    """Return what keeps the rows of `table` as they were added; `update_when` lets the updates through that it is not true of."""
    return (
        Trigger(name=f"{name}_update", table=table, event="UPDATE", when=update_when, message=message),
        Trigger(name=f"{name}_delete", table=table, event="DELETE", when="TRUE", message=message),
        # SQLite's REPLACE deletes without asking the triggers unless a pragma says so.
        Trigger(
            name=f"{name}_replace",
            table=table,
            event="INSERT",
            when=f"EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)",
            message=message,
            vendor="sqlite",
        ),
    )


def guard(app: AppConfig, triggers: Sequence[Trigger]) -> None:
    """Keep `triggers` on the app's tables through all migrations; called once when the app is ready."""
    _GUARDS[app.label] = tuple(triggers)

    def drop(using: str, **kwargs: Any) -> None:
        connection = connections[using]
        there = set(connection.introspection.table_names())
        _run(connection, (t.drop_sql(connection.vendor) for t in _for(connection, triggers) if t.table in there))

    def install(using: str, **kwargs: Any) -> None:
        connection = connections[using]
        there = set(connection.introspection.table_names())
        for trigger in _for(connection, triggers):
            if trigger.table in there:
                _install(connection, trigger)

    def check(databases: Sequence[str] | None = None, **kwargs: Any) -> list[checks.CheckMessage]:
        # A warning, since migrate runs the checks before it mends what they find.
        return [
            checks.Warning(f"The trigger {trigger.name} is missing.", hint="Run migrate.", id="inventory.W001")
            for using in databases or ()
            for trigger in _missing(connections[using], triggers)
        ]

    pre_migrate.connect(drop, sender=app, weak=False)
    post_migrate.connect(install, sender=app, weak=False)
    checks.register(check, checks.Tags.database)


def missing_guards(using: str = DEFAULT_DB_ALIAS) -> list[Trigger]:
    """Return the triggers of all apps that are not there, or are switched off, although their tables are; by name."""
    return _missing(connections[using], [trigger for triggers in _GUARDS.values() for trigger in triggers])


def put_guards_back(using: str = DEFAULT_DB_ALIAS) -> None:
    """Install every trigger that is missing and fits its table as it is now, as after a migration that failed."""
    connection = connections[using]
    for trigger in missing_guards(using):
        # A table that was not brought along may lack a column that its guard looks at.
        with suppress(DatabaseError), transaction.atomic(using=using):
            _install(connection, trigger)


def _for(connection: BaseDatabaseWrapper, triggers: Sequence[Trigger]) -> list[Trigger]:
    return [trigger for trigger in triggers if trigger.vendor in ("", connection.vendor)]


def _install(connection: BaseDatabaseWrapper, trigger: Trigger) -> None:
    _run(connection, [trigger.drop_sql(connection.vendor), *trigger.install_sql(connection.vendor)])


def _run(connection: BaseDatabaseWrapper, statements: Iterable[str]) -> None:
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


def _missing(connection: BaseDatabaseWrapper, triggers: Sequence[Trigger]) -> list[Trigger]:
    table, column, where = (
        ("pg_trigger", "tgname", "NOT tgisinternal AND tgenabled <> 'D'")
        if connection.vendor == "postgresql"
        else ("sqlite_master", "name", "type = 'trigger'")
    )
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {column} FROM {table} WHERE {where}")
        installed = {row[0] for row in cursor.fetchall()}
    tables = set(connection.introspection.table_names())
    wanted = _for(connection, triggers)
    missing = (trigger for trigger in wanted if trigger.table in tables and trigger.name not in installed)
    return sorted(missing, key=lambda trigger: trigger.name)
