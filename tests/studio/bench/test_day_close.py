"""The day's close: what was ticked without time is asked for once, of the one who ticked it; how long the day was.

Nothing outside is compared with: figures are reckoned by hand.
"""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from support_bench import at, codes, operation

from inventory.ground.findings import Refused
from inventory.shelf.settings import close_until
from studio.bench import timing
from studio.bench.day_close import be_present, put_into, unanswered, write_together
from studio.bench.job_making import cancel_job
from studio.bench.ticking import tick_operation
from studio.jobs.presence import Presence, logged_on, presence_seen
from studio.models import AlsoWorked, DayPresent, Job, JobOperation, TimeEntry

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate
MARCH_1 = date(2027, 3, 1)


@pytest.fixture
def helper(db: None) -> User:
    """Another person of the workroom."""
    return User.objects.create_user("helper")


def ticked(job: Job, *its_codes: str, user: User) -> list[JobOperation]:
    """Operations that were ticked now."""
    operations = [operation(job, code) for code in its_codes]
    for row in operations:
        tick_operation(row, user=user)
    return operations


def asked(user: User) -> list[tuple[date, list[str]]]:
    return [(group.day, [row.code for row in group.operations]) for group in unanswered(user)]


def test_what_was_ticked_without_time_is_asked_of_who_ticked_it(
    job: Job, books: User, helper: User, monkeypatch: pytest.MonkeyPatch
):
    at(monkeypatch, "2027-02-27T09:00")
    ticked(job, "CONS", user=books)
    at(monkeypatch, "2027-03-01T23:30")
    ticked(job, "PRESS", "PIN", "CLIP", user=books)
    ticked(job, "DRAFT", user=helper)
    timing.write_down(operation(job, "CLIP"), user=helper, key=uuid4(), day=MARCH_1, minutes=5)
    assert asked(books) == [(MARCH_1, ["PIN", "PRESS"]), (date(2027, 2, 27), ["CONS"])]
    assert asked(helper) == [(MARCH_1, ["DRAFT"])]
    close_until(date(2027, 2, 28))
    assert asked(books) == [(MARCH_1, ["PIN", "PRESS"])]
    cancel_job(job, why="moved abroad", user=books)
    assert asked(books) == []


def test_a_timer_that_runs_is_time_and_an_entry_that_was_struck_out_is_none(job: Job, books: User):
    (pin,) = ticked(job, "PIN", user=books)
    entry = timing.write_down(pin, user=books, key=uuid4(), day=TODAY(), minutes=5)
    assert asked(books) == []
    timing.correct(entry, user=books, key=uuid4(), day=TODAY(), minutes=0, why="another job")
    assert asked(books) == [(TODAY(), ["PIN"])]
    timing.start(pin, user=books, key=uuid4())
    assert asked(books) == []


def test_one_entry_over_all_answers_for_all_and_counts_once(job: Job, books: User, monkeypatch: pytest.MonkeyPatch):
    at(monkeypatch, "2027-03-01T18:00")
    operations = ticked(job, "PIN", "CLIP", "PRESS", user=books)
    at(monkeypatch, "2027-03-02T08:00")
    key = uuid4()
    for _ in range(2):
        entry = write_together(operations[:2], user=books, key=key, day=MARCH_1, minutes=30)
    assert (entry.day, entry.minutes, entry.by) == (MARCH_1, 30, books)
    assert TimeEntry.objects.get() == entry
    assert entry.worked_operations() == operations[:2]
    assert asked(books) == [(MARCH_1, ["PRESS"])]


def test_their_time_is_in_an_entry_that_stands_already(job: Job, books: User):
    cut = timing.write_down(operation(job, "CUT"), user=books, key=uuid4(), day=TODAY(), minutes=60)
    operations = ticked(job, "PIN", "CLIP", user=books)
    for _ in range(2):
        put_into(cut, operations)
    assert [row.code for row in cut.worked_operations()] == ["CUT", "PIN", "CLIP"]
    assert asked(books) == []
    assert TimeEntry.objects.get().minutes == 60


def refused(act, *args, **said) -> list[str]:
    with pytest.raises(Refused) as caught:
        act(*args, **said)
    return codes(caught)


def test_each_fault_has_its_sentence_and_writes_nothing(job: Job, books: User):
    today = {"user": books, "key": uuid4(), "day": TODAY(), "minutes": 10}
    (pin,) = ticked(job, "PIN", user=books)
    cut = timing.write_down(operation(job, "CUT"), user=books, key=uuid4(), day=TODAY(), minutes=60)
    assert refused(write_together, [], **today) == refused(put_into, cut, []) == ["day.none-checked"]
    assert refused(write_together, [pin], **{**today, "minutes": 0}) == ["time.minutes"]
    timed = operation(job, "CUT")
    assert refused(write_together, [pin, timed], **today) == ["day.answered"]
    press = timing.write_down(operation(job, "PRESS"), user=books, key=uuid4(), day=TODAY(), minutes=5)
    assert refused(put_into, press, [pin, timed]) == ["day.answered"]
    better = timing.correct(cut, user=books, key=uuid4(), day=TODAY(), minutes=50, why="misread")
    assert refused(put_into, cut, [pin]) == ["day.corrected"]
    close_until(TODAY())
    assert refused(write_together, [pin], **today) == refused(put_into, better, [pin]) == ["books.month-closed"]
    cancel_job(job, why="moved abroad", user=books)
    assert refused(write_together, [pin], **today) == refused(put_into, better, [pin]) == ["job.over"]
    assert (TimeEntry.objects.count(), AlsoWorked.objects.count()) == (3, 0)


def test_a_day_is_said_once_and_again_until_its_month_is_closed(books: User, helper: User):
    be_present(books, day=TODAY(), minutes=480)
    be_present(books, day=TODAY(), minutes=465)
    be_present(helper, day=TODAY(), minutes=1440)
    assert list(DayPresent.objects.order_by("pk").values_list("minutes", flat=True)) == [465, 1440]
    for minutes in (0, 1441):
        assert refused(be_present, books, day=TODAY(), minutes=minutes) == ["day.minutes"]
    assert refused(be_present, books, day=TODAY() + timedelta(days=1), minutes=60) == ["day.to-come"]
    close_until(TODAY())
    assert refused(be_present, books, day=TODAY(), minutes=60) == ["books.month-closed"]


def test_presence_stands_beside_all_that_was_logged_by_who_worked_it(
    job: Job, books: User, helper: User, monkeypatch: pytest.MonkeyPatch
):
    """60 corrected by another to 50, 20 done again, 5 on another day, 9 by the helper: 70 and 9; the timer is not over."""
    at(monkeypatch, "2027-03-02T18:00")
    cut, pin = operation(job, "CUT"), operation(job, "PIN")
    entry = timing.write_down(cut, user=books, key=uuid4(), day=MARCH_1, minutes=60, also=[pin])
    timing.correct(entry, user=helper, key=uuid4(), day=MARCH_1, minutes=50, why="misread")
    timing.write_down(cut, user=books, key=uuid4(), day=MARCH_1, minutes=20, cause="fit")
    timing.write_down(cut, user=books, key=uuid4(), day=date(2027, 3, 2), minutes=5)
    timing.write_down(cut, user=helper, key=uuid4(), day=MARCH_1, minutes=9)
    timing.start(cut, user=books, key=uuid4())
    for user, day, minutes in ((helper, MARCH_1, 30), (books, MARCH_1, 400), (books, date(2027, 2, 26), 60)):
        be_present(user, day=day, minutes=minutes)
    assert presence_seen() == (
        Presence(day=date(2027, 2, 26), by=books.pk, present_min=60, logged_min=0),
        Presence(day=MARCH_1, by=books.pk, present_min=400, logged_min=70),
        Presence(day=MARCH_1, by=helper.pk, present_min=30, logged_min=9),
    )
    assert logged_on(date(2027, 3, 2), books) == 5


def answers(job: Job, browser: Browser, *, status: int = 302, **said: object) -> str:
    """What the page says after an answer."""
    facts = {"key": str(uuid4()), "day": TODAY().isoformat(), **said}
    answer = browser.post(reverse("day-answer", args=[job.pk]), facts)
    assert answer.status_code == status
    return (browser.get(answer["Location"]) if status == 302 else answer).content.decode()


def test_the_page_asks_and_a_pressed_number_answers(job: Job, browser: Browser, maker: User):
    assert "Nothing was ticked without time." in browser.get("/bench/day/").content.decode()
    assert "/bench/day/" not in browser.get("/").content.decode()
    pin, clip = ticked(job, "PIN", "CLIP", user=maker)
    assert "2 operations were ticked without time" in browser.get("/").content.decode()
    assert "/bench/day/" in browser.get("/bench/").content.decode()
    shown = browser.get("/bench/day/").content.decode()
    assert "how long, together?" in shown
    assert shown.count(" checked>") == 2
    shown = answers(job, browser, operations=[pin.pk, clip.pk], quick="15", minutes="40")
    assert "15 min are written down." in shown
    assert "Nothing was ticked without time." in shown
    assert [row.code for row in TimeEntry.objects.get().worked_operations()] == ["PIN", "CLIP"]


def test_minutes_are_written_or_the_entry_is_chosen(job: Job, browser: Browser, maker: User):
    pin, clip, _ = ticked(job, "PIN", "CLIP", "PRESS", user=maker)
    answers(job, browser, operations=[pin.pk], minutes="1:05")
    entry = TimeEntry.objects.get()
    assert entry.minutes == 65
    assert f"1 h 05 at {pin.name}" in browser.get("/bench/day/").content.decode()
    answers(job, browser, operations=[clip.pk], entry=entry.pk, is_elsewhere="yes")
    assert entry.worked_operations() == [pin, clip]
    assert asked(maker) == [(TODAY(), ["PRESS"])]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"operations": [], "quick": "5"}, "Nothing is checked."),
        ({}, "Say how long it took, together."),
        ({"minutes": "1:99"}, "is no time"),
        ({"minutes": "0"}, "0 minutes are not a day"),
        ({"quick": "7"}, "Select a valid choice"),
        ({"is_elsewhere": "yes"}, "Choose the entry that their time is in."),
        ({"is_elsewhere": "yes", "entry": "999"}, "Select a valid choice"),
        ({"day": "2999-01-01", "quick": "5"}, "still to come"),
    ],
)
def test_what_cannot_be_taken_is_told_and_what_was_said_stays(
    job: Job, browser: Browser, maker: User, said: dict, words: str
):
    pin, _ = ticked(job, "PIN", "CLIP", user=maker)
    shown = answers(job, browser, status=422, **{"operations": [pin.pk], **said})
    assert words in shown
    assert shown.count('type="checkbox"') == 2
    assert shown.count(" checked>") == (2 if "day" in said else len(said.get("operations", [pin])))
    assert not TimeEntry.objects.exists()


def test_an_answer_whose_question_is_gone_is_told(job: Job, browser: Browser, maker: User):
    (pin,) = ticked(job, "PIN", user=maker)
    close_until(TODAY())
    assert "is closed, and its figures stand." in answers(job, browser, status=422, operations=[pin.pk], quick="5")
    close_until(TODAY() - timedelta(days=40))
    cancel_job(job, why="moved abroad", user=maker)
    assert "This job is over already." in answers(job, browser, status=422, operations=[pin.pk], quick="5")


def test_the_day_is_kept_and_one_shorter_than_its_time_is_told(job: Job, browser: Browser, maker: User):
    timing.write_down(operation(job, "CUT"), user=maker, key=uuid4(), day=TODAY(), minutes=95)
    words = "1 h is less than the 1 h 35 that were logged on that day."
    present = reverse("day-present")
    shown = browser.post(present, {"day": TODAY().isoformat(), "minutes": "60"}, follow=True).content.decode()
    assert shown.count(words) == 1
    shown = browser.post(present, {"day": TODAY().isoformat(), "minutes": "7:30"}, follow=True).content.decode()
    assert words not in shown
    assert DayPresent.objects.get().minutes == 450
    yesterday = TODAY() - timedelta(days=1)
    timing.write_down(operation(job, "CUT"), user=maker, key=uuid4(), day=yesterday, minutes=95)
    shown = browser.post(present, {"day": yesterday.isoformat(), "minutes": "60"}, follow=True).content.decode()
    assert shown.count(words) == 1
    for said, why in (
        ({"minutes": "25:00"}, "1 to 1440"),
        ({"minutes": ""}, "required"),
        ({"day": "2999-01-01"}, "to come"),
    ):
        answer = browser.post(present, {"day": TODAY().isoformat(), "minutes": "60", **said})
        assert answer.status_code == 422
        assert why in answer.content.decode()
    assert DayPresent.objects.count() == 2


def test_the_page_asks_the_database_as_often_for_many_days_as_for_one(job: Job, browser: Browser, maker: User):
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert browser.get("/bench/day/").status_code == 200
        return len(captured)

    for code in ("CUT", "PIN"):
        timing.write_down(operation(job, code), user=maker, key=uuid4(), day=TODAY(), minutes=5)
    ticked(job, "CLIP", user=maker)
    before = queries()
    for number, row in enumerate(job.operations.filter(done_at=None).exclude(code__in=("CUT", "PIN"))):
        since = timezone.now() - timedelta(days=number)
        JobOperation.objects.filter(pk=row.pk).update(done_at=since, done_by=maker)
        timing.write_down(operation(job, "PIN"), user=maker, key=uuid4(), day=timezone.localdate(since), minutes=5)
    assert len(asked(maker)) > 10
    assert queries() == before
