"""What higher floors may answer to."""

from django.dispatch import Signal

__all__ = ["client_erased"]

client_erased = Signal()
"""A `client` who stays in the books has lost their name; sent inside the transaction that erases them."""
