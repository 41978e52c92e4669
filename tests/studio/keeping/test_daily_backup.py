"""A copy is made by itself once the last good one is older than was chosen, and Today says how old that is.

The limits are those of `studio/defaults.json`; nothing outside is compared with.
"""

import json
import logging
import sys
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from django.test import Client as Browser
from django.utils import timezone

from inventory.ground.findings import Refused
from studio.keeping.choices import choices
from studio.keeping.daily import DailyBackup
from studio.keeping.last import last_of, note_failed, note_good
from studio.keeping.page import copy_standing

NOW = datetime.fromisoformat("2027-03-28T00:30:00+00:00")


@pytest.fixture
def data(settings: Any, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path
    return tmp_path


def good(data: Path, *, at: datetime) -> Path:
    where = data / "backups" / "2027-03-27T00-00-00.000Z"
    where.mkdir(parents=True, exist_ok=True)
    (where / "manifest.json").write_text("{}")
    note_good(data, where, at=at)
    return where


def looked(*commands: Sequence[str], times: int = 1) -> None:
    """Look so many times, with one command after the other."""
    left = iter([False] * times + [True])
    for command in commands:
        DailyBackup(wait=lambda: next(left), command=command).run()


def marks(data: Path) -> list[str]:
    """A command that leaves a mark in the data folder each time that it runs."""
    return [sys.executable, "-c", f"open({str(data / 'marks')!r}, 'a').write('x')"]


@pytest.mark.parametrize(("hours", "made"), [(1, False), (23, False), (25, True), (-30, True)])
def test_a_copy_is_made_when_the_last_good_one_is_older_than_a_day(data: Path, hours: int, made: bool):
    good(data, at=timezone.now() - timedelta(hours=hours))
    looked(marks(data))
    assert (data / "marks").exists() == made


def test_a_copy_is_made_when_there_is_none_or_it_is_gone(data: Path):
    looked(marks(data))
    where = good(data, at=timezone.now())
    looked(marks(data))
    (where / "manifest.json").unlink()
    looked(marks(data))
    assert (data / "marks").read_text() == "xx"


def test_the_chosen_hours_count(data: Path):
    good(data, at=timezone.now() - timedelta(hours=5))
    (data / "keeping.json").write_text('{"hours": 4}')
    looked(marks(data))
    assert (data / "marks").exists()


def test_no_failure_ends_it_and_each_is_logged(data: Path, caplog: pytest.LogCaptureFixture):
    with caplog.at_level(logging.ERROR):
        looked([sys.executable, "-c", "import sys; sys.exit('stop: backups: The disk is full.')"], times=2)
        looked([str(data / "no-such-program")])
        (data / "keeping.json").write_text("{")
        looked(marks(data))
    assert [record.getMessage()[-40:].strip() for record in caplog.records if "disk is full" in record.getMessage()]
    assert len(caplog.records) == 4
    assert not (data / "marks").exists()


def test_after_a_failure_it_is_not_tried_again_at_once(data: Path):
    note_failed(data, "The disk is full.", at=timezone.now() - timedelta(minutes=50))
    looked(marks(data))
    assert not (data / "marks").exists()
    note_failed(data, "The disk is full.", at=timezone.now() - timedelta(minutes=70))
    looked(marks(data))
    assert (data / "marks").exists()


@pytest.mark.parametrize(
    ("hours", "words", "is_wrong"),
    [(3, "3 hours old", False), (47, "1 day old", False), (49, "2 days old", True), (-2, "later than now", True)],
)
def test_the_age_is_said_and_warned_of_past_its_limit(data: Path, hours: int, words: str, is_wrong: bool):
    good(data, at=NOW - timedelta(hours=hours))
    standing = copy_standing(on=NOW)
    assert words in standing.words
    assert standing.is_wrong == is_wrong


def test_missing_failed_and_lost_copies_are_warned_of(data: Path):
    assert copy_standing(on=NOW).is_wrong
    note_failed(data, "The disk is full.", at=NOW)
    assert "The disk is full." in copy_standing(on=NOW).words
    where = good(data, at=NOW)
    assert not copy_standing(on=NOW).is_wrong
    note_failed(data, "The disk is full.", at=NOW)
    assert "The disk is full." in copy_standing(on=NOW).words
    assert copy_standing(on=NOW).is_wrong
    good(data, at=NOW)
    (where / "manifest.json").unlink()
    assert str(where) in copy_standing(on=NOW).words


def test_a_note_that_cannot_be_read_counts_as_none(data: Path):
    for broken in ("", "{", "[]", '{"version": []}', '{"version": 1, "good_at": "yesterday"}'):
        (data / "last-backup.json").write_text(broken)
        assert last_of(data).good_at is None


def test_a_moment_without_its_zone_counts_as_none(data: Path):
    note = {"version": 1, "good_at": "2027-03-27T00:00:00", "where": "x", "failed_at": None, "why": ""}
    (data / "last-backup.json").write_text(json.dumps(note))
    assert copy_standing(on=NOW).is_wrong


@pytest.mark.parametrize(
    "chosen", ['{"keep": 0}', '{"fodler": "/media/copies"}', '{"keep": "many"}', '{"hours": -1}', "[]", "{"]
)
def test_a_choice_that_cannot_be_is_refused(data: Path, chosen: str):
    (data / "keeping.json").write_text(chosen)
    with pytest.raises(Refused):
        choices(data)


@pytest.mark.django_db
def test_today_is_quiet_while_a_copy_is_young_and_warns_without(data: Path, browser: Browser):
    assert '<p class="message message-warning">There is no copy of the books yet.' in browser.get("/").content.decode()
    where = good(data, at=timezone.now() - timedelta(hours=2))
    page = browser.get("/").content.decode()
    assert "The last good copy of the books is 2 hours old." in page
    assert "message-warning" not in page
    (data / "keeping.json").write_text('{"keep": 3}')
    page = browser.get("/copies/").content.decode()
    assert "manage.py restore" in page
    assert str(where.parent) in page
    (data / "keeping.json").write_text('{"keep": 0}')
    assert "0 copies cannot be kept." in browser.get("/copies/").content.decode()
