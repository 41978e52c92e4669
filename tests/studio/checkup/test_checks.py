"""Each fact to its sentence; figures of `studio/defaults.json`. Which endanger the books: common practice, no source."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from inventory.ground.faults import GONE
from inventory.ground.findings import Severity
from studio.checkup.checks import CHECKS, Facts, found

NOW = datetime(2027, 3, 1, 9, 30, tzinfo=UTC)
SOUND = Facts(
    folder="var",
    free_bytes=5_000_000_000,
    unwritable=(),
    open_to_others=(),
    fault=None,
    damage=(),
    behind=(),
    ahead=(),
    missing_guards=(),
    last_entry=NOW - timedelta(days=2),
    now=NOW,
)


def test_nothing_is_found_where_all_is_sound():
    assert found(SOUND) == ()
    assert found(replace(SOUND, last_entry=None)) == ()


@pytest.mark.parametrize(
    ("facts", "severity", "sentence"),
    [
        ({"fault": GONE}, Severity.STOP, "The database server does not answer."),
        ({"damage": ("Page 7: never used",)}, Severity.STOP, "damaged. It says: Page 7: never used."),
        ({"behind": ("studio.0014_next",)}, Severity.STOP, "The database is new or of an earlier version."),
        ({"ahead": ("studio.0099_later",)}, Severity.STOP, "newer version of this program: it has studio.0099_later."),
        ({"missing_guards": ("payment_update",)}, Severity.STOP, "its guard payment_update is missing."),
        ({"missing_guards": ("a", "b", "c")}, Severity.STOP, "its guard a and 2 more is missing."),
        (
            {"last_entry": NOW + timedelta(minutes=11)},
            Severity.STOP,
            "says 1 March 2027, 09:30, before the last entry of the books at 1 March 2027, 09:41.",
        ),
        ({"last_entry": NOW - timedelta(days=181)}, Severity.WARN, "181 days after the last entry of the books."),
        ({"free_bytes": 199_400_000}, Severity.WARN, "Only 199 MB are free on the disk of the data; 200 MB should be."),
        ({"unwritable": ("var/studio.sqlite3",)}, Severity.WARN, "may not write here, so nothing can be saved."),
        ({"open_to_others": ("var/secret-key",)}, Severity.WARN, "Other users of this machine can read this."),
    ],
)
def test_a_sentence_and_what_to_do(facts: dict[str, object], severity: Severity, sentence: str):
    (finding,) = found(replace(SOUND, **facts))
    assert finding.severity is severity
    assert finding.message.endswith(sentence)
    assert finding.hint.endswith(".")


@pytest.mark.parametrize(
    "facts",
    [
        {"last_entry": NOW + timedelta(minutes=10)},
        {"last_entry": NOW - timedelta(days=180)},
        {"free_bytes": 200_000_000},
    ],
)
def test_on_the_border_nothing_is_said(facts: dict[str, object]):
    assert found(replace(SOUND, **facts)) == ()


@pytest.mark.parametrize(
    ("last", "now", "codes"),
    [
        # The hour from two to three comes twice on 31 October 2027: ten past two is after ten to three.
        ((10, 31, 2, 50, 0), (10, 31, 2, 10, 1), []),
        # An hour back in the second of the two.
        ((10, 31, 2, 50, 1), (10, 31, 2, 50, 0), ["clock.behind"]),
        # On 28 March three follows on two: from a quarter to two to a quarter past three is half an hour.
        ((3, 28, 1, 45, 0), (3, 28, 3, 15, 0), []),
        ((3, 28, 3, 5, 0), (3, 28, 1, 50, 0), ["clock.behind"]),
        ((3, 28, 3, 5, 0), (3, 28, 1, 56, 0), []),
    ],
)
def test_in_the_two_nights_when_clocks_are_moved(last: tuple[int, ...], now: tuple[int, ...], codes: list[str]):
    """Directive 2000/84/EC and the IANA time zone database, Europe/Amsterdam."""

    def moment(month: int, day: int, hour: int, minute: int, fold: int) -> datetime:
        return datetime(2027, month, day, hour, minute, fold=fold, tzinfo=ZoneInfo("Europe/Amsterdam"))

    findings = found(replace(SOUND, last_entry=moment(*last), now=moment(*now)))
    assert [finding.code for finding in findings] == codes


def test_of_books_that_are_behind_migrate_alone_is_asked():
    findings = found(replace(SOUND, behind=("studio.0014_next",), missing_guards=("payment_update",)))
    assert [finding.code for finding in findings] == ["database.not-migrated"]


def test_every_check_can_find_something():
    assert len(CHECKS) == len(set(CHECKS.values())) == 7
