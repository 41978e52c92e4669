"""What higher features may answer to."""

from django.dispatch import Signal

__all__ = ["account_made"]

account_made = Signal()
"""A piece's account was made or made anew; sent once the transaction that did so is kept."""
