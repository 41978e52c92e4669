"""Which migrations a database lacks, and which it has from a later program."""

from dataclasses import dataclass

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.migrations.loader import MigrationLoader

__all__ = ["Schema", "schema_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Schema:
    """Migrations by their names, `studio.0013_open_money`.

    Attributes:
        behind: those of this program that were not applied.
        ahead: those that were applied and that this program does not know, of apps that it knows.
    """

    behind: tuple[str, ...]
    ahead: tuple[str, ...]


def schema_of(using: str = DEFAULT_DB_ALIAS) -> Schema:
    """Return how the schema of a database stands to this program."""
    loader = MigrationLoader(connections[using])
    known, applied = set(loader.graph.nodes), set(loader.applied_migrations)
    unknown = {row for row in applied - known - set(loader.disk_migrations) if row[0] in loader.migrated_apps}
    return Schema(behind=_names(known - applied), ahead=_names(unknown))


def _names(migrations: set[tuple[str, str]]) -> tuple[str, ...]:
    return tuple(sorted(f"{app}.{name}" for app, name in migrations))
