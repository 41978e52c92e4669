"""Entries that are not believed, told in the same words whatever was measured."""

from collections.abc import Callable

from quotes.labour.learning.fit import Fit
from quotes.labour.learning.observations import Columns, SetAside

__all__ = ["is_aside", "set_aside", "set_aside_words"]


def is_aside(known: Fit, place: int) -> bool:
    """Whether the fit does not believe the entry at a place."""
    return bool(known.is_high[place] or known.is_low[place])


def set_aside(
    table: Columns, known: Fit, place: int, *, said: Callable[[float, float], str], too_much: str, too_little: str
) -> SetAside:
    """Return an entry that is not believed.

    Args:
        said: what was found and what was expected, in words.
        too_much, too_little: the likely cause of either.
    """
    entry, expected = table.entries[place], float(known.expected[place])
    why = f"{said(entry.found, expected)}: {too_much if known.is_high[place] else too_little}"
    return SetAside(job=entry.job, day=entry.day, kind=entry.kind, found=entry.found, expected=expected, why=why)


def set_aside_words(count: int) -> str:
    """Return how many were left out as the end of a sentence about the others; empty for none.

    >>> set_aside_words(1), set_aside_words(0)
    (' 1 entry was set aside.', '')
    """
    return f" {count} {'entry was' if count == 1 else 'entries were'} set aside." if count else ""
