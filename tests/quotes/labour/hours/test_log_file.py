"""Logs are read strictly: each fault is one sentence with its path, as the command's promise says."""

import copy
import json
import warnings
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from support_commands import run, stop_codes

from inventory.ground.findings import Refused
from quotes.labour.hours import read_log

LOG: dict[str, Any] = {
    "jobs": [
        {
            "job": "Ada", "begun": "2026-01-05", "delivered": "2026-02-02",
            "operations": [
                {"code": "CUT", "estimated_min": 100, "done": True},
                {"code": "SEW", "estimated_min": 200, "done": True},
                {"code": "FLOSS", "estimated_min": 60, "done": False},
            ],
            "sessions": [
                {"date": "2026-01-05", "minutes": 120, "operations": ["CUT"], "maker": "A"},
                {"date": "2026-01-06", "minutes": 260.5, "operations": ["CUT", "SEW"]},
            ],
        }
    ],
    "next": [{"job": "Bea", "operations": [{"code": "CUT", "estimated_min": 90}, {"code": "SEW", "estimated_min": 0}]}],
}  # fmt: skip


def changed(path: tuple[Any, ...], value: object) -> dict[str, Any]:
    log = copy.deepcopy(LOG)
    inner: Any = log
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = value
    return log


def test_a_log_is_read_as_it_is_written() -> None:
    (job,), (bea,) = read_log(LOG)
    assert [row.code for row in job.worked] == ["CUT", "SEW"]
    assert job.default_min == 300
    assert job.logged_min == 380.5
    assert job.sessions[1].operations == ("CUT", "SEW")
    assert (job.sessions[0].maker, job.sessions[1].maker) == ("A", "")
    assert bea.default_min == 90


@pytest.mark.parametrize(
    ("path", "value", "code", "where"),
    [
        (("jobs", 0, "colour"), "red", "log.unknown-key", "jobs[0].colour"),
        (("jobs", 0, "begun"), "2026-02-30", "log.date", "jobs[0].begun"),
        (("jobs", 0, "begun"), "2026-03-01", "log.order", "jobs[0].delivered"),
        (("jobs", 0, "begun"), "1066-10-14", "log.date", "jobs[0].begun"),
        (("jobs", 0, "sessions", 1, "date"), "soon", "log.date", "jobs[0].sessions[1].date"),
        (("jobs", 0, "sessions", 0, "minutes"), -5, "log.too-small", "jobs[0].sessions[0].minutes"),
        (("jobs", 0, "sessions", 0, "minutes"), "12", "log.type", "jobs[0].sessions[0].minutes"),
        (("jobs", 0, "sessions", 0, "operations"), [], "log.too-few", "jobs[0].sessions[0].operations"),
        (("jobs", 0, "sessions", 0, "operations"), ["HEM"], "log.unknown-code", "jobs[0].sessions[0].operations[0]"),
        (("jobs", 0, "sessions", 0, "operations"), ["CUT", "CUT"], "log.twice", "jobs[0].sessions[0].operations[1]"),
        (("jobs", 0, "operations", 1, "code"), "CUT", "log.twice", "jobs[0].operations[1].code"),
        (("jobs", 0, "operations", 0, "estimated_min"), -1, "log.too-small", "jobs[0].operations[0].estimated_min"),
        (("jobs", 0, "operations", 0, "done"), "yes", "log.type", "jobs[0].operations[0].done"),
        (("jobs",), LOG["jobs"] * 2, "log.twice", "jobs[1].job"),
        (("next", 0, "operations", 0, "estimated_min"), 0, "log.nothing-to-do", "next[0].operations"),
        (("next", 0, "job"), " ", "log.form", "next[0].job"),
    ],
)  # fmt: skip
def test_a_fault_is_told_with_its_path(path: tuple[Any, ...], value: object, code: str, where: str) -> None:
    with pytest.raises(Refused) as refusal:
        read_log(changed(path, value))
    assert (code, where) in {(found.code, found.where) for found in refusal.value.findings}


def test_the_command_needs_no_database_and_keeps_its_promise(tmp_path: Path) -> None:
    """No database is opened: the test has no `db` fixture, so a query would fail."""
    file = tmp_path / "log.json"
    file.write_text(json.dumps(LOG), encoding="utf-8")
    code, document = run("calibrate", "--log", file)
    assert code == 0
    assert list(document)[:7] == [
        "jobs", "mape_default", "mape_learnt", "coverage_80", "operations", "next", "findings",
    ]  # fmt: skip
    assert set(document["operations"][0]) == {"code", "factor", "low", "high", "jobs"}
    (bea,) = document["next"]
    assert bea["default_min"] == 90
    assert bea["low_min"] < bea["total_min"] < bea["high_min"]
    assert document["jobs"] == 1


def test_one_job_is_told_as_one(tmp_path: Path) -> None:
    file, out = tmp_path / "log.json", StringIO()
    file.write_text(json.dumps(LOG), encoding="utf-8")
    call_command("calibrate", "--log", str(file), stdout=out, stderr=StringIO())
    assert "Learnt from 1 job." in out.getvalue()
    assert "from 1 jobs" not in out.getvalue()


def test_an_empty_log_answers_with_public_hours(tmp_path: Path) -> None:
    """16 to 40 hours for a piece of 25.7 by the table: published figures, trade knowledge of the house."""
    file = tmp_path / "log.json"
    operations = [{"code": f"OP{at}", "estimated_min": 25.7 * 2} for at in range(30)]
    file.write_text(json.dumps({"jobs": [], "next": [{"job": "first", "operations": operations}]}), encoding="utf-8")
    code, document = run("calibrate", "--log", file)
    assert code == 0
    assert document["mape_learnt"] is None
    assert document["coverage_80"] is None
    (first,) = document["next"]
    assert first["low_min"] / 60 == pytest.approx(16, rel=0.05)
    assert first["high_min"] / 60 == pytest.approx(40, rel=0.05)
    assert [found["code"] for found in document["findings"]] == ["hours.no-jobs"]


@pytest.mark.parametrize("minutes", [700, 0.001, 1e-320])
def test_a_log_of_which_nothing_is_believed_teaches_nothing(minutes: float, tmp_path: Path) -> None:
    """A timer that ran on for hours, or was stopped at once, on the only entry that there is."""
    log = changed(("jobs", 0, "operations"), [{"code": "CUT", "estimated_min": 60, "done": True}])
    log["jobs"][0]["sessions"] = [{"date": "2026-01-05", "minutes": minutes, "operations": ["CUT"]}]
    file = tmp_path / "log.json"
    file.write_text(json.dumps(log), encoding="utf-8")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        code, document = run("calibrate", "--log", file)
    codes = [found["code"] for found in document["findings"]]
    assert code == 0
    assert "hours.total-and-parts" not in codes
    assert document["operations"][0]["factor"] == pytest.approx(1, abs=0.06)


@pytest.mark.parametrize("text", ["", "{", "[]", '{"jobs": NaN}'])
def test_what_is_no_log_is_refused(text: str, tmp_path: Path) -> None:
    file = tmp_path / "log.json"
    file.write_text(text, encoding="utf-8")
    code, document = run("calibrate", "--log", file)
    assert code == 1
    assert stop_codes(document)
