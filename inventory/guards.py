"""What the database itself refuses: any change of what the ledger holds."""

from inventory.triggers import Trigger

__all__ = ["TRIGGERS"]


def _append_only(table: str, name: str) -> tuple[Trigger, ...]:
    words = "The ledger is never changed; post a correction."
    return (
        *(
            Trigger(name=f"{name}_{event.lower()}", table=table, event=event, when="TRUE", message=words)
            for event in ("UPDATE", "DELETE")
        ),
        # SQLite's REPLACE deletes without asking the triggers unless a pragma says so.
        Trigger(
            name=f"{name}_replace",
            table=table,
            event="INSERT",
            when=f"EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)",
            message=words,
            vendor="sqlite",
        ),
    )


TRIGGERS = (
    *_append_only("inventory_posting", "ledger_posting"),
    *_append_only("inventory_movement", "ledger_movement"),
)
