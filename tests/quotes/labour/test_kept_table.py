"""A workroom's own table of minutes beside the shipped one: its figures count, and what it lacks is taken from there.

Outside: none; the rule is the product's own.
"""

from dataclasses import replace

from quotes.labour.standard import completed, default_times


def test_an_operation_that_was_shipped_later_comes_with_its_minutes_and_its_role():
    shipped = default_times()
    kept = replace(shipped, operations=tuple(row for row in shipped.operations if row.code != "CHAN"))
    assert {row.code: row for row in completed(kept).operations} == {row.code: row for row in shipped.operations}


def test_a_makers_own_minutes_and_operations_stay_as_they_are():
    shipped = default_times()
    own = (replace(shipped.operations[0], setup_min=1.0), replace(shipped.operations[0], code="MINE"))
    kept = replace(shipped, operations=own, stitches_per_min=500.0)
    table = completed(kept)
    assert table.operations[:2] == own
    assert [row.code for row in table.operations].count(own[0].code) == 1
    assert table.stitches_per_min == 500


def test_a_whole_table_is_left_alone():
    assert completed(default_times()) == default_times()
