"""What all commands promise: JSON alone on standard output, findings and exit 1 where they refuse, no traceback."""

import json
import logging
import os
import sys
from abc import ABC, abstractmethod
from argparse import ArgumentParser
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, Generic, NoReturn, TypeVar

from django.core.management.base import BaseCommand, CommandError

from inventory.ground.codec import Document, plain
from inventory.ground.faults import exit_code, told
from inventory.ground.findings import Finding, Refused, stop

__all__ = ["ActingCommand", "DaybookCommand", "output_of_libraries_to_stderr", "tell"]

logger = logging.getLogger(__name__)

Answer = TypeVar("Answer")


class ActingCommand(BaseCommand, ABC):
    """A command that does something. What refuses it, a fault of the machine too, is told in a sentence.

    Exit 0: done. Exit 1: refused, with findings. Exit 2: wrong usage (argparse), or a setting that says what cannot be.
    """

    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    @abstractmethod
    def act(self, **options: Any) -> None:
        """Do what the command is for. Raises Refused."""

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self.act(**options)
        except CommandError:
            raise
        except Exception as error:
            found = told(error)
            if found is None:
                logger.exception("Command failed")
                name = self.__module__.rpartition(".")[2]
                found = (stop("program.fault", name, "The program failed; its log says why."),)
            beside = error.beside if isinstance(error, Refused) else {}
            self.refuse(found, as_json=options.get("json", False), beside=beside)

    def refuse(
        self, findings: Sequence[Finding], *, as_json: bool = False, beside: Mapping[str, object] | None = None
    ) -> NoReturn:
        """Say why not, and leave with 1, or with 2 where a setting is wrong; `beside` is what a refusal tells besides."""
        tell(findings, as_json=as_json, out=self.stdout.write, err=self.stderr.write, beside=beside or {})
        sys.exit(exit_code(findings))


class DaybookCommand(ActingCommand, Generic[Answer]):
    """A command that prints its answer as a JSON document, or as `text`."""

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

    def act(self, **options: Any) -> None:
        with output_of_libraries_to_stderr():
            answer = self.answer(**options)
        document = plain(answer)
        self.stdout.write(_json(document) if options["json"] else self.text(answer))
        if not options["json"]:
            _tell_rows((document or {}).get("findings", []), self.stderr.write)
        if not self.is_sound(answer):
            sys.exit(1)


def tell(
    findings: Sequence[Finding],
    *,
    as_json: bool,
    out: Callable[[str], object],
    err: Callable[[str], object],
    beside: Mapping[str, object] | None = None,
) -> None:
    """Write findings, and what a refusal tells `beside` them, as one JSON document to `out`, or findings a line each to `err`."""
    rows = plain(findings)
    if as_json:
        out(_json({"findings": rows, **plain(beside or {})}))
    else:
        _tell_rows(rows, err)


def _tell_rows(rows: Sequence[dict[str, str]], err: Callable[[str], object]) -> None:
    for row in rows:
        err(f"{row['severity']}: {row['where']}: {row['message']} {row['hint']}".rstrip())


@contextmanager
def output_of_libraries_to_stderr() -> Iterator[None]:
    """Standard output is the document's alone; some libraries write a banner there, below Python."""
    sys.stdout.flush()
    kept = os.dup(1)
    os.dup2(2, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)


def _json(document: Document) -> str:
    return json.dumps(document, ensure_ascii=False, indent=1)
