"""`migrate`: Django's own, which refuses a database of a later program and puts the guards back where it failed."""

from typing import Any

from django.core.management.commands import migrate

from inventory.ground.findings import refuse
from inventory.ground.site.command import ActingCommand
from inventory.ground.site.migrated import schema_of
from inventory.ground.site.triggers import put_guards_back


class Command(ActingCommand, migrate.Command):
    help = migrate.Command.help

    def act(self, **options: Any) -> None:
        using = options["database"]
        if ahead := schema_of(using).ahead:
            raise refuse(
                "database.newer",
                "database",
                f"The database is of a newer version of this program: it has {ahead[-1]}.",
                "Start that version, or put back a backup from before it.",
            )
        try:
            migrate.Command.handle(self, **options)
        except BaseException:
            put_guards_back(using)
            raise
