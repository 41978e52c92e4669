"""What the database itself refuses: any change of what the ledger holds, of new days of orders, and of pictures that offers show."""

from inventory.ground.site.triggers import append_only

__all__ = ["TRIGGERS"]

_PICTURES = "A picture is never changed; keep another."
_NEW_DAYS = "A new day of an order stays written; write another."
_WORDS = "The ledger is never changed; post a correction."

TRIGGERS = (
    *append_only("inventory_posting", "ledger_posting", _WORDS),
    *append_only("inventory_movement", "ledger_movement", _WORDS),
    *append_only("inventory_ordernewday", "order_new_day", _NEW_DAYS),
    *append_only("inventory_keptpicture", "kept_picture", _PICTURES),
)
