"""What a log of jobs would change of the table, and the range that it gives to new estimates.

Outside the project: simulated workrooms whose hidden factors are known (`support_workrooms`), and arithmetic.
"""

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

import quotes.labour.learning
from quotes.labour.hours import Job, Operation, Session, learn
from quotes.labour.learning import learnt_range, proposals
from quotes.labour.standard import default_times

DAY = date(2027, 1, 4)
MINUTES = {"BINDH": 100.0, "CUT": 100.0, "PIN": 50.0, "GROM": 50.0}
FACTORS = {"BINDH": 1.6, "PIN": 0.7}


def job(number: int, *, wobble: float = 1.0, extra: dict[str, float] | None = None) -> Job:
    """One job whose operations were each written by themselves; `extra` operations besides, and what they took."""
    worked = {code: minutes * FACTORS.get(code, 1.0) * wobble for code, minutes in MINUTES.items()} | (extra or {})
    begun = DAY + timedelta(days=7 * number)
    return Job(
        name=f"J{number}",
        begun=begun,
        delivered=begun + timedelta(days=3),
        operations=tuple(Operation(code=code, estimated_min=MINUTES.get(code, 100.0)) for code in worked),
        sessions=tuple(Session(day=begun, minutes=spent, operations=(code,)) for code, spent in worked.items()),
    )


def jobs(count: int) -> list[Job]:
    return [job(number, wobble=1.08 if number % 2 else 1 / 1.08) for number in range(count)]


def test_what_is_surely_and_noticeably_off_is_proposed():
    found = proposals(learn(jobs(14)), default_times())
    assert [row.operation for row in found] == ["BINDH", "PIN"]
    first = found[0]
    assert (first.default_min, first.entries, first.effect_on_price, first.set_aside) == (100.0, 14, None, ())
    assert first.learnt_min == pytest.approx(160, rel=0.08)
    assert first.learnt_min == pytest.approx(first.default_min * first.factor)
    assert first.name == next(row.name for row in default_times().operations if row.code == "BINDH")
    assert first.evidence.startswith("In 14 jobs its time was written: 1.")


def test_few_jobs_propose_nothing_nor_does_an_operation_that_the_table_lacks():
    assert proposals(learn(jobs(2)), default_times()) == ()
    strange = [replace(row, operations=row.operations[:0]) for row in jobs(0)] + [
        job(number, extra={"NEW": 300.0}) for number in range(14)
    ]
    assert "NEW" not in {row.operation for row in proposals(learn(strange), default_times())}


def test_what_was_taken_counts_as_the_tables_own():
    times = default_times()
    paced = replace(
        times, operations=tuple(replace(row, pace=2.0) if row.code == "BINDH" else row for row in times.operations)
    )
    (row,) = (row for row in proposals(learn(jobs(14)), paced) if row.operation == "BINDH")
    assert row.default_min == 200.0
    assert row.learnt_min == pytest.approx(160, rel=0.08)
    assert row.evidence.endswith("The table holds 2 times its minutes already.")


def test_a_forgotten_timer_is_named_beside_the_proposal():
    forgotten = job(20, extra={"BINDH": 900.0})
    (row,) = (row for row in proposals(learn([*jobs(14), forgotten]), default_times()) if row.operation == "BINDH")
    (aside,) = row.set_aside
    assert (aside.job, aside.day) == ("J20", forgotten.begun)
    assert aside.why == "15 h were written: a timer left running, or started late?"
    assert "1 entry was set aside." in row.evidence


def test_without_a_written_minute_nothing_is_known_of_the_range():
    assert learnt_range(learn([]), MINUTES, default_times()) is None


def test_the_range_narrows_from_the_first_job_on():
    wide = [learnt_range(learn(jobs(count)), MINUTES, default_times()) for count in (1, 3, 8, 20)]
    widths = [row.high / row.low for row in wide if row is not None]
    assert len(widths) == 4
    assert widths == sorted(widths, reverse=True)
    assert widths[0] > 1.4 * widths[-1]


def test_the_range_holds_likely_and_says_where_the_log_has_its_middle():
    """BINDH takes 60 minutes more, PIN 15 less: 345 of 300, and 1.0 once the paces are taken."""
    known = learn(jobs(20))
    found = learnt_range(known, MINUTES, default_times())
    assert found is not None
    assert found.low <= 1 <= found.high
    assert "has its middle at 1.1" in found.rule
    times = default_times()
    paced = replace(times, operations=tuple(replace(row, pace=FACTORS.get(row.code, 1.0)) for row in times.operations))
    taken = learnt_range(known, MINUTES, paced)
    assert taken is not None
    assert "middle" not in taken.rule
    assert taken.high < found.high


def test_every_assumption_has_its_source_and_words():
    path = Path(quotes.labour.learning.__file__).with_name("assumptions.json")
    sections = json.loads(path.read_text(encoding="utf-8"))
    del sections["about"]
    rows = [row for section in sections.values() for row in section.values()]
    assert len(rows) >= 14
    assert all(row["source"] and row["words"] for row in rows)
