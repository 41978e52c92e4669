"""Why something was spoiled or done again, and who bears it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from pathlib import Path

from studio.profit.piece import Actual, Bearer, CauseCost

__all__ = ["Cause", "cause_costs", "causes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """A cause: `name` for a list to choose from, `words` within a sentence, `why` this bearer bears it."""

    code: str
    name: str
    words: str
    bearer: Bearer
    why: str


@cache
def causes() -> Mapping[str, Cause]:
    """Return the causes by code, in the order to choose from."""
    document = json.loads(Path(__file__).with_name("causes.json").read_text(encoding="utf-8"))
    return {
        row["code"]: Cause(
            code=row["code"], name=row["name"], words=row["words"], bearer=Bearer(row["bearer"]), why=row["why"]
        )
        for row in document["causes"]
    }


def cause_costs(actual: Actual, labour: tuple[Decimal, ...], overhead: tuple[Decimal, ...]) -> tuple[CauseCost, ...]:
    """Return what each cause cost on a piece, in the order of `causes`.

    Args:
        labour: the labour of each row of `actual.rework`.
        overhead: the overhead that each row carried.

    Raises:
        ValueError: a cause that is not known.
    """
    for name in (*(row.cause for row in actual.spoiled), *(row.cause for row in actual.rework)):
        if name not in causes():
            raise ValueError(f"The cause {name!r} is not known; known are {', '.join(causes())}.")
    zero = Decimal(0)
    found = []
    for code, cause in causes().items():
        again = [index for index, row in enumerate(actual.rework) if row.cause == code]
        cost = CauseCost(
            cause=code,
            bearer=cause.bearer,
            materials=sum((row.value for row in actual.spoiled if row.cause == code), zero),
            labour=sum((labour[index] for index in again), zero),
            overhead=sum((overhead[index] for index in again), zero),
        )
        if cost.amount:
            found.append(cost)
    return tuple(found)
