"""What higher floors may answer to."""

from dataclasses import dataclass

from django.dispatch import Signal

__all__ = ["Matter", "client_erased", "client_shown"]

client_erased = Signal()
"""A `client` who stays in the books has lost their name; sent inside the transaction that erases them."""

client_shown = Signal()
"""The page of a `client` is being made; who answers returns a list of `Matter`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Matter:
    """Something of a client that a higher floor keeps: what it is about, in words, and the way to it."""

    what: str
    words: str
    amount: str
    link: str
    needs_a_hand: bool
