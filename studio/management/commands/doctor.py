"""`doctor`: whether machine and books are sound; exit 1 where anything is found."""

from dataclasses import dataclass
from typing import Any

from inventory.ground.findings import Finding
from inventory.ground.site.command import DaybookCommand
from studio.checkup.checks import CHECKS, found
from studio.checkup.facts import facts


@dataclass(frozen=True, slots=True, kw_only=True)
class Health:
    """What was looked at, and what was found."""

    checked: tuple[str, ...]
    findings: tuple[Finding, ...]


class Command(DaybookCommand[Health]):
    help = "Say whether disk, permissions, database, guards and clock are sound."

    def answer(self, **options: Any) -> Health:
        return Health(checked=tuple(CHECKS), findings=found(facts()))

    def text(self, answer: Health) -> str:
        return f"Looked at {', '.join(answer.checked)}." + ("" if answer.findings else " All is sound.")

    def is_sound(self, answer: Health) -> bool:
        return not answer.findings
