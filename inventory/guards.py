"""What the database itself refuses: any change of what the ledger holds, and of pictures that offers show."""

from inventory.ground.site.triggers import append_only

__all__ = ["TRIGGERS"]

_PICTURES = "A picture is never changed; keep another."
_WORDS = "The ledger is never changed; post a correction."

TRIGGERS = (
    *append_only("inventory_posting", "ledger_posting", _WORDS),
    *append_only("inventory_movement", "ledger_movement", _WORDS),
    *append_only("inventory_keptpicture", "kept_picture", _PICTURES),
)
