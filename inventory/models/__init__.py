"""The shelf's tables, by subject."""

from inventory.models.materials import StockMaterial

__all__ = ["StockMaterial"]
