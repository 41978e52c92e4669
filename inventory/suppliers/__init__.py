"""Suppliers and what they ask: terms, offers, lead times, closed weeks."""
