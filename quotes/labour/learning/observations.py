"""What was found against what was expected, entry by entry, and the same as columns of numbers."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

__all__ = ["Columns", "Entry", "SetAside", "columns", "set_aside_words"]

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class SetAside:
    """An entry that is not believed, of a job on a day, and the likely cause in words."""

    job: str
    day: date
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What was `found` where so much was `expected`, both > 0, of one kind of material in one job."""

    job: str
    day: date
    kind: str
    expected: float
    found: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Columns:
    """Entries as arrays, oldest first; `job` and `kind` count into the names, in the order in which they first came."""

    entries: tuple[Entry, ...]
    jobs: tuple[str, ...]
    kinds: tuple[str, ...]
    day: Integers
    job: Integers
    kind: Integers
    expected: Floats
    found: Floats


def columns(entries: Sequence[Entry]) -> Columns:
    """Return the entries as arrays, in an order that does not depend on how they came."""
    ordered = sorted(entries, key=lambda entry: (entry.day, entry.job, entry.kind, entry.found))
    jobs = tuple(dict.fromkeys(entry.job for entry in ordered))
    kinds = tuple(dict.fromkeys(entry.kind for entry in ordered))
    job_of, kind_of = ({name: place for place, name in enumerate(names)} for names in (jobs, kinds))
    return Columns(
        entries=tuple(ordered),
        jobs=jobs,
        kinds=kinds,
        day=np.array([entry.day.toordinal() for entry in ordered], dtype=np.int64),
        job=np.array([job_of[entry.job] for entry in ordered], dtype=np.int64),
        kind=np.array([kind_of[entry.kind] for entry in ordered], dtype=np.int64),
        expected=np.array([entry.expected for entry in ordered], dtype=np.float64),
        found=np.array([entry.found for entry in ordered], dtype=np.float64),
    )


def set_aside_words(count: int) -> str:
    """Return how many were left out as the end of a sentence about the others; empty for none.

    >>> set_aside_words(1), set_aside_words(0)
    (' 1 entry was set aside.', '')
    """
    return f" {count} {'entry was' if count == 1 else 'entries were'} set aside." if count else ""
