"""What higher features may answer to."""

from django.dispatch import Signal

__all__ = ["account_made"]

account_made = Signal()
"""Accounts of pieces were made or made anew; sent once the transaction that did so is kept."""
