"""What the demo's two years are told from: `commissions.json`."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache

import msgspec

from inventory.ground.reading import data_beside

__all__ = ["Person", "Piece", "Story", "story"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """A client with girths at underbust, waist, high hip and full hip."""

    name: str
    notes: str
    girths_mm: tuple[int, int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """What is asked for: how often beside the others, of how many quotes it is taken, until when it was offered."""

    title: str
    pattern: str
    construction: str
    cloths: Mapping[str, str]
    often: float
    taken: float
    choices: Mapping[str, object] = field(default_factory=dict)
    until_days_ago: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """A change that a client agrees to, at a net price."""

    what: str
    net: Decimal
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """Work that is done again, for between so many minutes."""

    operation: str
    cause: str
    minutes: tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """Who asks for what, and what goes otherwise."""

    clients: tuple[Person, ...]
    pieces: tuple[Piece, ...]
    changes: tuple[Wish, ...]
    slips: tuple[Slip, ...]
    cancelled_because: tuple[str, ...]


@cache
def story() -> Story:
    """Return the story."""
    return msgspec.convert(data_beside(__file__, "commissions.json"), Story)
