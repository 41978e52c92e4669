"""What a log teaches, as the document of `calibrate --log`. Minutes to a tenth, factors to a thousandth."""

from collections.abc import Sequence

from inventory.ground.codec import Document, plain
from quotes.labour.hours.learning import Hours, foretell
from quotes.labour.hours.log import NextJob

__all__ = ["hours_document"]


def hours_document(hours: Hours, nexts: Sequence[NextJob]) -> Document:
    """Return the document."""
    judged = hours.judgement()
    return {
        "jobs": hours.jobs,
        "mape_default": _rounded(judged.mape_default),
        "mape_learnt": _rounded(judged.mape_learnt),
        "coverage_80": _rounded(judged.coverage_80),
        "operations": [
            {
                "code": row.code,
                "factor": round(row.factor, 3),
                "low": round(row.low, 3),
                "high": round(row.high, 3),
                "jobs": row.jobs,
            }
            for row in hours.operations
        ],
        "next": [
            {
                "job": row.name,
                "default_min": round(row.default_min, 1),
                "total_min": round(row.likely_min, 1),
                "low_min": round(row.low_min, 1),
                "high_min": round(row.high_min, 1),
            }
            for row in (foretell(hours, job) for job in nexts)
        ],
        "findings": plain(hours.findings),
    }


def _rounded(share: float | None) -> float | None:
    return None if share is None else round(share, 4)
