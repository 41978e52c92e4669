"""What all commands promise: JSON alone on standard output, findings and exit 1 where they refuse, no traceback."""

import json
import logging
import os
import sys
from abc import ABC, abstractmethod
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Generic, NoReturn, TypeVar

from django.core.management.base import BaseCommand
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from inventory.ground.codec import Document, plain
from inventory.ground.findings import Refused, stop

__all__ = ["DaybookCommand"]

logger = logging.getLogger(__name__)

Answer = TypeVar("Answer")

_BEHIND = stop(
    "database.not-migrated",
    "database",
    "The database is new or of an earlier version.",
    "Run `python manage.py migrate` once.",
)


class DaybookCommand(BaseCommand, ABC, Generic[Answer]):
    """A command that prints its answer as a JSON document, or as `text`.

    Exit 0: done. Exit 1: refused, with findings. Exit 2: wrong usage (argparse).
    """

    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="Print one JSON document and nothing else.")

    @abstractmethod
    def answer(self, **options: Any) -> Answer:
        """Return what is printed: plain data, or a dataclass that can be written as such. Raises Refused."""

    @abstractmethod
    def text(self, answer: Answer) -> str:
        """Return the answer as people read it."""

    def is_sound(self, answer: Answer) -> bool:
        """Tell whether the command leaves with 0 after printing this answer."""
        return True

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with _output_of_libraries_to_stderr():
                answer = self.answer(**options)
        except Refused as refusal:
            self._refuse(refusal.findings, as_json=options["json"])
        except Exception as error:
            if isinstance(error, DatabaseError) and _is_behind():
                self._refuse([_BEHIND], as_json=options["json"])
            logger.exception("Command failed")
            fault = stop("program.fault", self.__module__.rpartition(".")[2], "The program failed; its log says why.")
            self._refuse([fault], as_json=options["json"])
        else:
            document = plain(answer)
            self.stdout.write(_json(document) if options["json"] else self.text(answer))
            if not options["json"]:
                self._tell(document.get("findings", []))
            if not self.is_sound(answer):
                sys.exit(1)

    def _refuse(self, findings: Any, *, as_json: bool) -> NoReturn:
        rows = plain(findings)
        if as_json:
            self.stdout.write(_json({"findings": rows}))
        else:
            self._tell(rows)
        sys.exit(1)

    def _tell(self, rows: list[dict[str, str]]) -> None:
        for row in rows:
            self.stderr.write(f"{row['severity']}: {row['where']}: {row['message']} {row['hint']}".rstrip())


@contextmanager
def _output_of_libraries_to_stderr() -> Iterator[None]:
    """Standard output is the document's alone; some libraries write a banner there, below Python."""
    sys.stdout.flush()
    kept = os.dup(1)
    os.dup2(2, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)


def _is_behind() -> bool:
    """Whether migrations wait for the database."""
    waiting = MigrationExecutor(connection)
    return bool(waiting.migration_plan(waiting.loader.graph.leaf_nodes()))


def _json(document: Document) -> str:
    return json.dumps(document, ensure_ascii=False, indent=1)
