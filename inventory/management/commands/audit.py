"""`audit`: the books rebuilt from the ledger; exit 1 and the rows that differ."""

from typing import Any

from inventory.ground.site.command import DaybookCommand
from inventory.stock.audit import Audit, audit


class Command(DaybookCommand[Audit]):
    help = "Prove that the balances are what the ledger says."

    def answer(self, **options: Any) -> Audit:
        return audit()

    def text(self, answer: Audit) -> str:
        checked = ", ".join(f"{count} {name}" for name, count in answer.checked.items())
        differences = [
            f"{difference.table} {difference.row}: expected {difference.expected}, found {difference.found}"
            for difference in answer.differences
        ]
        return "\n".join([f"Checked {checked}.", *(differences or ["Nothing differs."])])

    def is_sound(self, answer: Audit) -> bool:
        return not answer.differences
