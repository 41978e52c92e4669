"""What a change that jobs suggest was proposed on, as it is kept, where a test needs one that no job suggested."""

from quotes.labour.learning.grounds import GROUNDS, LossGrounds, MinutesGrounds, RangeGrounds

__all__ = ["loss_evidence", "minutes_evidence", "range_evidence"]

COMMON = {"entries": 4, "words": "In 4 jobs.", "effect_on_price": None, "currency": "EUR", "example": "J-1"}


def minutes_evidence(*, name: str, pace: float) -> dict[str, object]:
    """Minutes that were doubled."""
    return GROUNDS["minutes"].written(MinutesGrounds(name=name, pace=pace, default_min=20, learnt_min=40, **COMMON))


def loss_evidence() -> dict[str, object]:
    """A share that was a twentieth and would be a fifth."""
    return GROUNDS["loss"].written(LossGrounds(name="Spoilt", now=0.05, learnt=0.2, **COMMON))


def range_evidence() -> dict[str, object]:
    """A range as earlier versions proposed it."""
    return GROUNDS["range"].written(RangeGrounds(name="Hours", now=(0.9, 1.2), learnt=(0.95, 1.1), **COMMON))
