"""The demo workroom: invented people, places, prices and patterns, one module a subject."""

from django.contrib.auth.models import User

from inventory.models import StockMaterial
from studio.demo import clients, quotes, shelf, stock, suppliers, workroom

__all__ = ["load"]


def load(maker: User) -> bool:
    """Load the demo into empty books; return whether anything was loaded."""
    if StockMaterial.objects.exists():
        return False
    workroom.load()
    shelf.load()
    suppliers.load()
    stock.load(maker)
    people = clients.load(maker)
    quotes.load(maker, people)
    shelf.raise_price()
    return True
