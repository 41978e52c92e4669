"""The estimate as a whole: laws that it keeps, and machine time against a handbook."""

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support_patterns import block_a, labour_of, taken_off

from inventory.ground.findings import Refused
from quotes.construction.shipped import shipped
from quotes.labour.estimate import estimate_labour
from quotes.labour.operations import GROUPS, LearntRange
from quotes.labour.standard import default_times, read_times, times_document
from quotes.takeoff.takeoff import Work


def test_lab_13_machine_run_time_is_stitches_over_speed():
    """Machine time = stitches per inch × seam length ÷ rpm: 15 in at 10 a inch and 3000 a minute, 0.05 min;
    60 cm at 4 a cm and 2000 a minute, 0.12 min (method-time handbook page)."""
    times = default_times()
    operation = next(row for row in times.operations if row.code == "SEW1")
    bare = replace(operation, unit_min={"first_pass": 0.0})
    construction = replace(shipped("two-layer"), operations=shipped("two-layer").operations[:0])
    use = next(row for row in shipped("two-layer").operations if row.code == "SEW1")
    construction = replace(construction, operations=(use,))
    for stitches, speed, minutes in ((150.0, 3000.0, 0.05), (240.0, 2000.0, 0.12)):
        table = replace(times, operations=(bare,), stitches_per_min=speed, allowance_share=0.0)
        work = Work(
            pieces=0, seams=1, seam_passes=1, seam_mm=1, pass_mm=1,
            drivers={"first_pass": 1.0, "first_pass_stitch": stitches},
        )  # fmt: skip
        assert estimate_labour(work, construction, table).total_min == pytest.approx(minutes)


def test_total_is_the_sum_of_operations_with_the_allowance():
    estimate = labour_of(taken_off(block_a()))
    assert estimate.total_min == pytest.approx(sum(row.minutes for row in estimate.operations) * 1.15)
    assert estimate.low_min < estimate.total_min < estimate.high_min


@given(st.sampled_from(["single-layer", "two-layer", "welt", "fused", "three-layer"]), st.booleans(), st.integers(0, 3))
def test_doing_more_never_takes_less_time(code: str, flossing: bool, fittings: int):
    plain = labour_of(taken_off(block_a(), code, fittings=fittings))
    more = labour_of(taken_off(block_a(), code, fittings=fittings + 1, flossing=True))
    assert more.total_min > plain.total_min
    assert labour_of(taken_off(block_a(), code, flossing=flossing, bones_per_seam=2)).total_min > 0


def test_one_more_layer_never_lowers_the_hours():
    minutes = [labour_of(taken_off(block_a(), code)).total_min for code in ("single-layer", "fused", "three-layer")]
    assert minutes == sorted(minutes)
    assert labour_of(taken_off(block_a(), "two-layer")).total_min > minutes[0]


def test_difficult_cloth_takes_longer():
    takeoff = taken_off(block_a())
    plain = labour_of(takeoff)
    satin = estimate_labour(takeoff.work, takeoff.construction, default_times(), handling=["satin"])
    leather = estimate_labour(takeoff.work, takeoff.construction, default_times(), handling=["satin", "leather"])
    assert plain.total_min < satin.total_min < leather.total_min


def test_the_table_reads_back():
    assert read_times(times_document(default_times())) == default_times()


def test_a_table_with_an_unknown_driver_is_refused_with_its_row():
    document = json.loads(json.dumps(times_document(default_times())))
    document["operations"][2]["unit_min"] = {"moons": 3}
    with pytest.raises(Refused) as refusal:
        read_times(document)
    assert refusal.value.findings[0].where == "operations[2]"


def test_a_construction_with_an_operation_that_the_table_lacks_is_refused():
    takeoff = taken_off(block_a())
    times = replace(default_times(), operations=default_times().operations[1:])
    with pytest.raises(Refused, match="CONS"):
        estimate_labour(takeoff.work, takeoff.construction, times)


def test_the_first_range_is_that_of_published_hours():
    """Makers' pages and a newspaper feature: 16 to 40 hours for such a piece (trade notes, P11). A plain two-layer
    underbust is one of them; before anything was logged nothing narrower can be known of a workroom."""
    estimate = labour_of(taken_off(block_a()))
    assert estimate.low_min / 60 == pytest.approx(16, rel=0.05)
    assert estimate.high_min / 60 == pytest.approx(40, rel=0.05)
    assert "16 to 40" in estimate.range_rule


def test_what_was_learnt_of_a_workroom_goes_before_the_first_range():
    takeoff = taken_off(block_a())
    learnt = replace(default_times(), learnt_range=LearntRange(low=0.9, high=1.2, rule="from nine jobs"))
    estimate = estimate_labour(takeoff.work, takeoff.construction, learnt)
    assert (estimate.low_min, estimate.high_min) == (0.9 * estimate.total_min, 1.2 * estimate.total_min)
    assert estimate.range_rule == "from nine jobs"


def test_a_table_that_was_kept_with_spreads_of_groups_is_read():
    kept = {**times_document(default_times()), "spreads": {name: [0.8, 1.4] for name in GROUPS}}
    assert read_times(kept) == default_times()
