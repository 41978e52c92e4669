"""`restore`: a copy of the books brought back in the place of those that are here, which are moved aside."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from inventory.ground.site.command import DaybookCommand
from studio.keeping.restoring import Restored, restore


class Command(DaybookCommand[Restored]):
    help = (
        "Check, open and audit a copy that `backup` made, then put it in the place of the books, which are moved aside."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("folder", help="The folder of the copy.")
        parser.add_argument("--doubtful", action="store_true", help="Take it although its audit names differences.")

    def answer(self, **options: Any) -> Restored:
        return restore(Path(options["folder"]), doubtful=options["doubtful"])

    def text(self, answer: Restored) -> str:
        brought = " and brought up to this version" if answer.migrated else ""
        database = f", its database as {answer.database_aside}" if answer.database_aside else ""
        return (
            f"Restored {answer.rows} rows as they were at {answer.made_at:%Y-%m-%d %H:%M:%S} UTC{brought}. "
            f"What was here stands in {answer.aside}{database}."
        )
