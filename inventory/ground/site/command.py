"""What all commands promise: JSON alone on standard output, findings and exit 1 where they refuse, no traceback."""

import json
import logging
import os
import sys
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.core.management.base import BaseCommand

from inventory.ground.findings import Refused, findings_document, stop

__all__ = ["DaybookCommand"]

logger = logging.getLogger(__name__)


class DaybookCommand(BaseCommand):
    """A command that answers with a JSON document, or with `text` made of the same document.

    Exit 0: done. Exit 1: refused, with findings. Exit 2: wrong usage (argparse).
    """

    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="Print one JSON document and nothing else.")

    def answer(self, **options: Any) -> dict[str, Any]:
        """Return the document. Raises Refused."""
        raise NotImplementedError

    def text(self, document: dict[str, Any]) -> str:
        """Return the document as people read it."""
        raise NotImplementedError

    def is_sound(self, document: dict[str, Any]) -> bool:
        """Tell whether the command leaves with 0 after printing this document."""
        return True

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            with _output_of_libraries_to_stderr():
                document = self.answer(**options)
        except Refused as refusal:
            self._refuse(refusal.findings, as_json=options["json"])
        except Exception:
            logger.exception("Command failed")
            fault = stop("program.fault", self.__module__.rpartition(".")[2], "The program failed; its log says why.")
            self._refuse([fault], as_json=options["json"])
        else:
            self.stdout.write(_json(document) if options["json"] else self.text(document))
            if not options["json"]:
                self._tell(document.get("findings", []))
            if not self.is_sound(document):
                sys.exit(1)

    def _refuse(self, findings: Any, *, as_json: bool) -> None:
        rows = findings_document(findings)
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


def _json(document: dict[str, Any]) -> str:
    return json.dumps(document, ensure_ascii=False, indent=1)
