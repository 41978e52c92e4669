"""Why a change was proposed, as it is kept with the change: figures before and after, entries, words, what it costs."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.codec import Codec
from quotes.labour.learning.observations import SetAside

__all__ = ["GROUNDS", "Grounds", "LossGrounds", "MinutesGrounds", "RangeGrounds"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounds:
    """What any change was proposed on.

    Attributes:
        entries: how many speak for it: of an operation or a material, or whole jobs.
        words: the same in a sentence.
        effect_on_price: what it adds to `example`, a job's reference; None where no price moves, or that piece cannot be
            quoted any more.
        aside: none for what was decided before they were kept.
    """

    name: str
    entries: int
    words: str
    effect_on_price: Decimal | None
    currency: str
    example: str
    aside: tuple[SetAside, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class MinutesGrounds(Grounds):
    """Minutes of an operation as the table stood: its pace, and since when they are the maker's own (ISO 8601)."""

    pace: float
    since: str = ""
    default_min: float
    learnt_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LossGrounds(Grounds):
    """One of the takeoff's losses, a share or a factor."""

    now: float
    learnt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeGrounds(Grounds):
    """Low and high of a piece's hours, as factors of the likely ones."""

    now: tuple[float, float]
    learnt: tuple[float, float]


GROUNDS: Mapping[str, Codec[Grounds]] = {
    "minutes": Codec(kind=MinutesGrounds, version=1),
    "loss": Codec(kind=LossGrounds, version=1),
    "range": Codec(kind=RangeGrounds, version=1),
}
"""By the kind of change."""
