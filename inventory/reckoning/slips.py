"""Figures that may have a digit too many: ten times as much as there should be, or nearly."""

from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Finding, doubt
from inventory.ground.materials import StockUnit
from inventory.ground.measures import quantity_text

__all__ = ["count_doubts", "issue_doubts"]


def count_doubts(counted: int, book: int, unit: StockUnit) -> list[Finding]:
    """Return the question to a count of far more than the book says, in base units; none where the book says nothing."""
    if not _is_far_more(counted, book):
        return []
    said, there = quantity_text(counted, unit), quantity_text(book, unit)
    return [doubt("count.digit", "quantity", f"{said} are far more than the {there} on the book.", _HINT)]


def issue_doubts(quantity: int, usual: int, unit: StockUnit) -> list[Finding]:
    """Return the question to an issue of far more than is usual, in base units; none where nothing is known."""
    if not _is_far_more(quantity, usual):
        return []
    said, known = quantity_text(quantity, unit), quantity_text(usual, unit)
    return [doubt("issue.digit", "quantity", f"{said} are far more than what is usual, about {known}.", _HINT)]


_HINT = "Is there a digit too many?"


def _is_far_more(said: int, known: int) -> bool:
    return known > 0 and said >= shelf_defaults().counting.digit_factor * known
