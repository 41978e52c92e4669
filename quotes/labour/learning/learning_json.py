"""What learning would change and how well it foretold, as the `calibrate` command prints it."""

from collections.abc import Sequence

from inventory.ground.codec import Document
from quotes.labour.hours import Judgement
from quotes.labour.learning.proposals import Proposal

__all__ = ["learning_document"]


def learning_document(judged: Judgement, changes: Sequence[Proposal]) -> Document:
    """Return both as JSON data: shares from 0 to 1 to four decimals, minutes to two, money as it was worked out."""
    return {
        "jobs": len(judged.jobs),
        "mape_default": _share(judged.mape_default),
        "mape_learnt": _share(judged.mape_learnt),
        "coverage_80": _share(judged.coverage_80),
        "proposals": [
            {
                "operation": row.operation,
                "default_min": round(row.default_min, 2),
                "learnt_min": round(row.learnt_min, 2),
                "entries": row.entries,
                "effect_on_price": None if row.effect_on_price is None else f"{row.effect_on_price:f}",
            }
            for row in changes
        ],
    }


def _share(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
