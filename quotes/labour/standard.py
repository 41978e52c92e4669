"""The table of standard minutes: shipped as data, read strictly, printed back."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import datetime
from functools import cache

from inventory.ground.codec import Document
from inventory.ground.findings import Finding, Refused, stop
from inventory.ground.reading import data_beside
from inventory.ground.schema import schema_findings
from quotes.labour.operations import LearntRange, Operation, OperationRole, StandardTimes
from quotes.takeoff.drivers import Driver

__all__ = ["completed", "default_times", "from_memory", "read_times", "set_by_hand", "times_document"]


@cache
def default_times() -> StandardTimes:
    """Return the table that a workroom starts from."""
    return read_times(data_beside(__file__, "standard_minutes.json"))


def read_times(document: object) -> StandardTimes:
    """Return the table that `document` describes. Raises Refused with every row that does not fit."""
    faults = schema_findings(document, data_beside(__file__, "standard_minutes.schema.json"), code="times")
    if faults:
        raise Refused(faults)
    assert isinstance(document, dict)
    row_faults = _row_faults(document["operations"])
    if row_faults:
        raise Refused(row_faults)
    return StandardTimes(
        operations=tuple(
            Operation(
                code=row["code"],
                name=row["name"],
                group=row["group"],
                setup_min=float(row.get("setup_min", 0)),
                unit_min={driver: float(minutes) for driver, minutes in row["unit_min"].items()},
                stitches=row.get("stitches", ""),
                handling_of=row.get("handling_of", ""),
                why=row.get("why", ""),
                pace=float(row.get("pace", 1)),
                pace_why=row.get("pace_why", ""),
                since=row.get("since", ""),
                role=OperationRole(row["role"])
                if "role" in row
                else _shipped_roles().get(row["code"], OperationRole.NONE),
            )
            for row in document["operations"]
        ),
        stitches_per_min=float(document["stitches_per_min"]),
        guiding_factor=float(document["guiding_factor"]),
        allowance_share=float(document["allowance_share"]),
        multipliers=document.get("multipliers", {}),
        source=document.get("source", ""),
        learnt_range=LearntRange(**document["learnt_range"]) if "learnt_range" in document else None,
    )


def completed(times: StandardTimes) -> StandardTimes:
    """Return a table that was kept, with the shipped operations, and minutes of theirs, that came with a later version."""
    shipped = {row.code: row for row in default_times().operations}
    known = {row.code for row in times.operations}
    kept = (
        replace(row, unit_min={**shipped[row.code].unit_min, **row.unit_min}) if row.code in shipped else row
        for row in times.operations
    )
    return replace(times, operations=(*kept, *(row for code, row in shipped.items() if code not in known)))


def times_document(times: StandardTimes) -> Document:
    """Return the table as JSON data that `read_times` takes back."""
    return {
        "source": times.source,
        "stitches_per_min": times.stitches_per_min,
        "guiding_factor": times.guiding_factor,
        "allowance_share": times.allowance_share,
        "multipliers": times.multipliers,
        **({"learnt_range": asdict(times.learnt_range)} if times.learnt_range else {}),
        "operations": [
            {
                "code": row.code,
                "name": row.name,
                "group": row.group,
                "setup_min": row.setup_min,
                "unit_min": row.unit_min,
                "stitches": row.stitches,
                "handling_of": row.handling_of,
                "why": row.why,
                "pace": row.pace,
                **({"pace_why": row.pace_why} if row.pace_why else {}),
                "since": row.since,
                "role": row.role.value,
            }
            for row in times.operations
        ],
    }


def set_by_hand(before: StandardTimes, after: StandardTimes, *, at: datetime) -> StandardTimes:
    """Return the table `after` with what was learnt of `before` dropped wherever its minutes are other ones now.

    The maker's own figure counts as it stands, and is learnt from anew.
    """
    known = {row.code: row for row in before.operations}
    machine = (before.stitches_per_min, before.guiding_factor) != (after.stitches_per_min, after.guiding_factor)
    return replace(
        after,
        operations=tuple(
            replace(row, pace=1.0, pace_why="", since=at.isoformat())
            if (was := known.get(row.code)) is not None
            and ((was.setup_min, was.unit_min) != (row.setup_min, row.unit_min) or (machine and row.stitches))
            else row
            for row in after.operations
        ),
    )


def from_memory(times: StandardTimes) -> frozenset[str]:
    """Return the codes of the operations whose minutes stand as they were shipped: nobody set them, nothing was learnt."""
    default = default_times()
    shipped = {row.code: row for row in default.operations}
    is_machine = (times.stitches_per_min, times.guiding_factor) == (default.stitches_per_min, default.guiding_factor)
    return frozenset(
        row.code
        for row in times.operations
        if (came := shipped.get(row.code)) is not None
        and (row.setup_min, row.unit_min) == (came.setup_min, came.unit_min)
        and (row.pace, row.pace_why, row.since) == (came.pace, came.pace_why, came.since)
        and (is_machine or not row.stitches)
    )


@cache
def _shipped_roles() -> dict[str, OperationRole]:
    """By code: tables that were kept before operations had roles say none."""
    return {
        row["code"]: OperationRole(row.get("role", ""))
        for row in data_beside(__file__, "standard_minutes.json")["operations"]
    }


def _row_faults(rows: Sequence[Document]) -> list[Finding]:
    known = {driver.value for driver in Driver}
    faults = [
        stop("times.code-twice", "operations", f"The operation {code!r} is there {count} times.")
        for code, count in Counter(row["code"] for row in rows).items()
        if count > 1
    ]
    for index, row in enumerate(rows):
        drivers = [*row["unit_min"], *([row["stitches"]] if row.get("stitches") else [])]
        faults += [
            stop(
                "times.unknown-driver",
                f"operations[{index}]",
                f"The driver {driver[:40]!r} of {row['code']} is not known.",
                f"Known are {', '.join(sorted(known))}.",
            )
            for driver in drivers
            if driver not in known
        ]
    return faults
