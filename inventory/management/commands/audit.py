"""`audit`: the books rebuilt from the ledger; exit 1 and the rows that differ."""

from typing import Any

from inventory.ground.site.command import DaybookCommand
from inventory.stock.audit import audit


class Command(DaybookCommand):
    help = "Prove that the balances are what the ledger says."

    def answer(self, **options: Any) -> dict[str, Any]:
        return audit()

    def text(self, document: dict[str, Any]) -> str:
        checked = ", ".join(f"{count} {name}" for name, count in document["checked"].items())
        differences = [
            f"{difference['table']} {difference['row']}: expected {difference['expected']}, found {difference['found']}"
            for difference in document["differences"]
        ]
        return "\n".join([f"Checked {checked}.", *(differences or ["Nothing differs."])])

    def is_sound(self, document: dict[str, Any]) -> bool:
        return not document["differences"]
