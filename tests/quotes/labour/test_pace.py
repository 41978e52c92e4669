"""A learnt pace in the table of standard minutes.

Outside: proportion (an operation that takes k times its minutes adds (k − 1) of them, and nothing else changes); the
shape of the document that `read_times` takes (common practice, no source).
"""

import json
from dataclasses import replace

import pytest
from support_patterns import block_a, taken_off

from inventory.ground.findings import Refused
from quotes.labour.estimate import estimate_labour
from quotes.labour.operations import LabourEstimate, StandardTimes
from quotes.labour.standard import default_times, read_times, times_document


def paced(code: str, pace: float) -> StandardTimes:
    times = default_times()
    rows = (replace(row, pace=pace) if row.code == code else row for row in times.operations)
    return replace(times, operations=tuple(rows))


def estimated(times: StandardTimes, *, handling: tuple[str, ...] = ()) -> LabourEstimate:
    takeoff = taken_off(block_a())
    return estimate_labour(takeoff.work, takeoff.construction, times, handling=handling)


def test_a_pace_scales_its_own_operation_and_no_other():
    before = {row.code: row for row in estimated(default_times()).operations}
    after = {row.code: row for row in estimated(paced("SEW1", 1.12)).operations}
    assert after["SEW1"].minutes == pytest.approx(before["SEW1"].minutes * 1.12)
    assert after["SEW1"].formula == f"({before['SEW1'].formula}) × 1.12 learnt"
    assert {code: row for code, row in after.items() if code != "SEW1"} == {
        code: row for code, row in before.items() if code != "SEW1"
    }


def test_the_formula_says_from_what_a_pace_was_learnt():
    times = paced("SEW1", 1.12)
    told = replace(times, operations=tuple(replace(row, pace_why="from 8 jobs") for row in times.operations))
    assert read_times(times_document(told)) == told
    formulas = {row.code: row.formula for row in estimated(told).operations}
    assert formulas["SEW1"].endswith(" × 1.12 learnt from 8 jobs")
    assert "learnt" not in formulas["CUT"]


def test_the_total_moves_by_the_operation_with_its_allowance():
    before, after = estimated(default_times()), estimated(paced("SEW1", 0.8))
    minutes = next(row.minutes for row in before.operations if row.code == "SEW1")
    assert before.total_min - after.total_min == pytest.approx(minutes * 0.2 * (1 + before.allowance_share))


def test_difficult_cloth_comes_on_top_of_the_pace():
    times = paced("SEW1", 1.5)
    plain, leather = (
        next(row for row in estimated(times, handling=handling).operations if row.code == "SEW1")
        for handling in ((), ("leather",))
    )
    slower = times.multipliers["leather"]["sewing"]
    assert slower > 1
    assert leather.minutes == pytest.approx(plain.minutes * slower)
    assert leather.formula.endswith(f") × {slower:g} for the cloth × 1.5 learnt")


def test_the_shipped_table_is_without_a_pace_and_reads_as_one():
    assert {row.pace for row in default_times().operations} == {1.0}
    document = times_document(default_times())
    for row in document["operations"]:
        del row["pace"]
    assert read_times(document) == default_times()


def test_a_pace_reads_back():
    times = paced("SEW1", 1.123)
    assert read_times(json.loads(json.dumps(times_document(times)))) == times


@pytest.mark.parametrize("pace", [0, -1, 21, "1.1"])
def test_a_pace_that_cannot_be_is_refused_with_its_place(pace: object):
    document = json.loads(json.dumps(times_document(default_times())))
    document["operations"][3]["pace"] = pace
    with pytest.raises(Refused) as refusal:
        read_times(document)
    assert refusal.value.findings[0].where == "operations[3].pace"
