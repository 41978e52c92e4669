"""The studio's price list as the pricing rooms take it."""

from inventory.materials import Material
from inventory.models import StockMaterial

__all__ = ["price_list"]


def price_list() -> tuple[Material, ...]:
    """Return the materials that new quotes may use, in the order of the shelf; the first of a kind is its default."""
    return tuple(row.priced() for row in StockMaterial.objects.filter(is_retired=False))
