"""All tables of the books, by Django's own register: what counts them, their schema, the photographs that they name."""

from django.apps import apps
from django.contrib.sessions.models import Session
from django.db import connection, models
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

__all__ = ["counts", "moved_tables", "photographs", "schema", "schema_known", "tables"]


def tables() -> list[type[models.Model]]:
    """Return the model of every table, by the table's name."""
    found = [model for model in apps.get_models(include_auto_created=True) if model._meta.managed]
    return sorted(found, key=lambda model: model._meta.db_table)


def moved_tables() -> list[type[models.Model]]:
    """Return the model of every table that moves to another installation: all but the logins under way."""
    return [model for model in tables() if model is not Session]


def counts() -> dict[str, int]:
    """Return how many rows each table has."""
    return {model._meta.db_table: model._base_manager.count() for model in tables()}


def photographs() -> tuple[str, ...]:
    """Return the photographs that rows name, by their names under the folder of photographs, each once."""
    named: set[str] = set()
    for model in tables():
        for field in model._meta.local_fields:
            if isinstance(field, models.FileField):
                named.update(model._base_manager.values_list(field.name, flat=True))
    return tuple(sorted(named - {"", None}))


def schema() -> dict[str, str]:
    """Return the last migration that was applied of each app."""
    applied = MigrationRecorder(connection).applied_migrations()
    return dict(sorted(applied))


def schema_known() -> set[tuple[str, str]]:
    """Return every migration that this version knows, by app and name."""
    return set(MigrationLoader(None, ignore_no_migrations=True).disk_migrations)
