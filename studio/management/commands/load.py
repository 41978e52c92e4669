"""`load`: what `export` wrote, read into an empty installation."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from inventory.ground.site.command import DaybookCommand
from studio.keeping.loading import Loaded, load


class Command(DaybookCommand[Loaded]):
    help = "Read an export into an installation in which nothing was done yet."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("folder", help="The folder that `export` wrote.")

    def answer(self, **options: Any) -> Loaded:
        return load(Path(options["folder"]))

    def text(self, answer: Loaded) -> str:
        return f"Loaded {answer.rows} rows of {answer.tables} tables, {answer.photographs} photographs; audited."
