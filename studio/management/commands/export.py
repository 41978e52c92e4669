"""`export`: everything as plain files that other programs read, and that `load` reads into an empty installation."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from inventory.ground.site.command import DaybookCommand
from studio.keeping.exporting import Exported, export


class Command(DaybookCommand[Exported]):
    help = "Write all tables, documents, drawings, sealed offers and photographs into a new folder."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("folder", help="A folder that is not there yet, or empty.")

    def answer(self, **options: Any) -> Exported:
        return export(Path(options["folder"]))

    def text(self, answer: Exported) -> str:
        return f"Exported {answer.rows} rows of {answer.tables} tables to {answer.where}: {answer.files} files."
