"""The estimate: minutes of every operation from the work content, and the total with its range."""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from functools import cache

from inventory.ground.findings import refuse
from quotes.construction.construction import Construction, OperationUse
from quotes.labour.hours import Hours, NextJob, foretell, learn
from quotes.labour.operations import GROUPS, LabourEstimate, Operation, OperationMinutes, StandardTimes
from quotes.takeoff.drivers import Driver
from quotes.takeoff.takeoff import Work

__all__ = ["estimate_labour", "minutes_by_group", "range_of"]

GUIDED = frozenset({Driver.CHANNEL_STITCH.value, Driver.GROMMET_LINE_STITCH.value})
"""Stitching that is guided along a line and runs slower."""
RANGE_RULE = (
    "Likely is the table's time. What a workroom takes of it is not known before its own hours are: published hours for "
    "such a piece run from 16 to 40, and 8 of 10 workrooms lie between low and high."
)


def estimate_labour(
    work: Work, construction: Construction, times: StandardTimes, *, handling: Sequence[str] = ()
) -> LabourEstimate:
    """Return the labour of a piece.

    Args:
        handling: how its cloths handle (`satin`, `leather` …); the slowest counts.

    Total = Σ minutes × (1 + allowance): the ILO convention, the allowance as a share of the time worked.

    Raises:
        Refused: the construction names an operation that the table lacks.
    """
    table = {operation.code: operation for operation in times.operations}
    rows = []
    for use in construction.operations:
        if use.code not in table:
            raise refuse(
                "labour.unknown-operation",
                f"operation {use.code}",
                f"The table of standard minutes has no operation {use.code}.",
                "Add it to the table, or take it out of the construction.",
            )
        row = _minutes(table[use.code], use, work, times, handling)
        if row is not None:
            rows.append(row)
    total = math.fsum(row.minutes for row in rows) * (1 + times.allowance_share)
    low, high = range_of({row.code: row.minutes for row in rows}, times)
    return LabourEstimate(
        operations=tuple(rows),
        allowance_share=times.allowance_share,
        total_min=total,
        low_min=total * low,
        high_min=total * high,
        range_rule=times.learnt_range.rule if times.learnt_range else RANGE_RULE,
    )


def range_of(minutes: Mapping[str, float], times: StandardTimes) -> tuple[float, float]:
    """Return what low and high are of likely, for a piece with these minutes by operation, >= 0.

    What was learnt, where there is such; else what is believed of workrooms at large (`quotes.labour.hours`).
    """
    if times.learnt_range is not None:
        return times.learnt_range.low, times.learnt_range.high
    worked = {code: spent for code, spent in minutes.items() if spent > 0}
    if not worked:
        return 1.0, 1.0
    forecast = foretell(_nothing_logged(), NextJob(name="", estimates=worked))
    return min(1.0, forecast.low_min / forecast.default_min), max(1.0, forecast.high_min / forecast.default_min)


@cache
def _nothing_logged() -> Hours:
    return learn(())


def minutes_by_group(rows: Sequence[OperationMinutes]) -> dict[str, float]:
    """Return the minutes of each group, before allowance, in the order of `GROUPS`."""
    found: dict[str, list[float]] = defaultdict(list)
    for row in rows:
        found[row.group].append(row.minutes)
    return {group: math.fsum(found[group]) for group in GROUPS}


def _minutes(
    operation: Operation, use: OperationUse, work: Work, times: StandardTimes, handling: Sequence[str]
) -> OperationMinutes | None:
    """The operation's row, or None where there is nothing of it to do."""
    terms = [(driver, use.minutes.get(driver, unit)) for driver, unit in operation.unit_min.items()]
    present = [(driver, unit, work.drivers[driver]) for driver, unit in terms if work.drivers[driver]]
    stitches = work.drivers[operation.stitches] if operation.stitches else 0.0
    if not present and not stitches:
        return None
    minutes = operation.setup_min + math.fsum(unit * quantity for _, unit, quantity in present)
    parts = [f"{operation.setup_min:g} set-up"] if operation.setup_min else []
    parts += [f"{unit:g} × {quantity:.4g} {Driver(driver).words}" for driver, unit, quantity in present if unit]
    if stitches:
        guiding = times.guiding_factor if operation.stitches in GUIDED else 1.0
        minutes += stitches * guiding / times.stitches_per_min
        slower = f" × {guiding:g}" if guiding != 1 else ""
        parts.append(f"{stitches:.0f} stitches{slower} ÷ {times.stitches_per_min:g} a minute")
    factor = max((times.multipliers.get(name, {}).get(operation.handling_of, 1.0) for name in handling), default=1.0)
    formula = " + ".join(parts)
    scales = [f" × {factor:g} for the cloth"] if factor != 1 else []
    if operation.pace != 1:
        scales.append(f" × {operation.pace:g} learnt{f' {operation.pace_why}' if operation.pace_why else ''}")
    if scales:
        minutes *= factor * operation.pace
        formula = f"({formula}){''.join(scales)}"
    main = present[0] if present else (operation.stitches, 0.0, stitches)
    return OperationMinutes(
        code=operation.code,
        name=operation.name,
        group=operation.group,
        driver=Driver(main[0]).words,
        driver_quantity=main[2],
        minutes=minutes,
        formula=formula,
        role=operation.role,
    )
