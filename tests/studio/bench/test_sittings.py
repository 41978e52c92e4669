"""One sitting over several operations of a job: its timer, its entries, and what each operation took of it.

The shares are worked by hand, by largest remainder (Hamilton's apportionment); the rest is reckoned by hand.
"""

from datetime import timedelta
from fractions import Fraction
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.db.models import QuerySet
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_bench import at, codes, operation

from inventory.ground.findings import Refused
from studio.accounts.actuals import gather
from studio.bench import timing
from studio.bench.job_making import cancel_job
from studio.bench.job_page import job_page, time_page
from studio.bench.ticking import forgotten_work, tick_operation
from studio.calendar.work_ahead import works_ahead
from studio.client.delivery import deliver, delivery_findings, expected_invoice
from studio.jobs.sittings import Worked, worked
from studio.models import AlsoWorked, Job, JobOperation, TimeEntry

pytestmark = pytest.mark.django_db
TODAY = timezone.localdate


@pytest.fixture
def job(open_job: Job) -> Job:
    """An open job of which three operations are planned with 30, 45 and 5.5 minutes."""
    for code, planned in (("PREP", 30.0), ("CUT", 45.0), ("PIN", 5.5)):
        open_job.operations.filter(code=code).update(planned_min=planned)
    return open_job


def write(job: Job, minutes: int, *at_codes: str, user: User, **said: object) -> TimeEntry:
    """Time written down at the first of the operations, and at the others in the same sitting."""
    first, *others = (operation(job, code) for code in at_codes)
    facts = {"key": uuid4(), "day": TODAY(), **said}
    return timing.write_down(first, also=others, user=user, minutes=minutes, **facts)  # type: ignore[arg-type]


def taken(job: Job) -> dict[str, int]:
    """What stands at each operation of a job."""
    minutes: dict[str, int] = {}
    for part in worked(TimeEntry.objects.filter(operation__job=job).standing()):
        minutes[part.code] = minutes.get(part.code, 0) + part.minutes
    return minutes


def names(entry: TimeEntry) -> list[str]:
    return [worked_at.code for worked_at in TimeEntry.objects.with_operations().get(pk=entry.pk).worked_operations()]


def test_a_sitting_is_shared_by_plan_and_adds_up(job: Job, books: User):
    """80 minutes over 30, 45 and 5.5: exactly 29.8, 44.7 and 5.5, so 30, 45 and 5."""
    write(job, 80, "CUT", "PIN", "PREP", user=books)
    assert taken(job) == {"PREP": 30, "CUT": 45, "PIN": 5}
    write(job, 15, "CUT", user=books)
    assert taken(job) == {"PREP": 30, "CUT": 60, "PIN": 5}


def test_all_operations_of_many_entries_are_read_in_two_queries(job: Job, books: User, django_assert_num_queries):
    for _ in range(5):
        write(job, 80, "PREP", "CUT", user=books)
    with django_assert_num_queries(2):
        entries = list(TimeEntry.objects.with_operations())
        assert [[row.code for row in entry.worked_operations()] for entry in entries] == [["PREP", "CUT"]] * 5
    with django_assert_num_queries(1):
        assert len(worked(TimeEntry.objects.all())) == 10


def test_a_sitting_is_of_one_job(job: Job, books: User):
    elsewhere = JobOperation(pk=10**6, job_id=job.pk + 1, code="CUT", name="Cut", place=1, planned_min=5)
    with pytest.raises(ValueError, match="one job"):
        timing.write_down(operation(job, "CUT"), also=[elsewhere], user=books, key=uuid4(), day=TODAY(), minutes=5)
    assert not TimeEntry.objects.exists()


def test_operations_are_joined_to_the_timer_that_runs(job: Job, books: User, monkeypatch: pytest.MonkeyPatch):
    at(monkeypatch, "2027-03-01T09:00")
    timing.start(operation(job, "CUT"), user=books, key=uuid4())
    at(monkeypatch, "2027-03-01T09:30")
    for _ in range(2):
        timing.join(operation(job, "PREP"), user=books)
    timing.join(operation(job, "CUT"), user=books)
    at(monkeypatch, "2027-03-01T10:15")
    stopped = timing.stop(user=books)
    assert stopped is not None
    assert (stopped.minutes, stopped.operation.code, names(stopped)) == (75, "CUT", ["PREP", "CUT"])
    assert taken(job) == {"PREP": 30, "CUT": 45}


def test_nothing_is_joined_where_no_timer_runs_or_the_job_is_over(job: Job, books: User):
    with pytest.raises(Refused) as caught:
        timing.join(operation(job, "PREP"), user=books)
    assert codes(caught) == ["time.no-timer"]
    timing.start(operation(job, "CUT"), user=books, key=uuid4())
    cancel_job(job, why="moved abroad", user=books)
    with pytest.raises(Refused) as caught:
        timing.join(operation(job, "PREP"), user=books)
    assert codes(caught) == ["job.over"]
    assert not AlsoWorked.objects.exists()


def test_two_devices_share_a_timer_over_several(job: Job, books: User):
    cut, prep = operation(job, "CUT"), operation(job, "PREP")
    first = timing.start(prep, also=[cut], user=books, key=uuid4())
    assert timing.start(prep, also=[cut], user=books, key=uuid4()) == first
    assert timing.start(cut, also=[prep], user=books, key=uuid4()) == first
    other = timing.start(cut, user=books, key=uuid4())
    assert (TimeEntry.objects.get(pk=first.pk).ended_at is None, names(other)) == (False, ["CUT"])


def test_a_tick_leaves_the_timer_to_the_others_of_its_sitting(job: Job, books: User):
    clip, press, pin = (operation(job, code) for code in ("CLIP", "PRESS", "PIN"))
    timing.start(clip, also=[press], user=books, key=uuid4())
    tick_operation(pin, user=books)
    tick_operation(press, user=books)
    running = timing.running(books)
    assert running is not None
    assert names(running) == ["CLIP", "PRESS"]
    tick_operation(clip, user=books)
    assert timing.running(books) is None


def test_an_operation_that_was_only_worked_with_others_has_begun_and_has_time(job: Job, books: User):
    """Clipping is after the seams of which none is ticked; pinning is before them."""
    write(job, 20, "PIN", "CLIP", user=books)
    assert [finding.code for finding in forgotten_work(job)] == ["slip.unticked"]
    for code in ("PIN", "CLIP", "PRESS"):
        tick_operation(operation(job, code), user=books)
    (unlogged,) = [finding for finding in delivery_findings(job) if finding.code == "delivery.unlogged"]
    assert unlogged.message == f"Done without any time logged: {operation(job, 'PRESS').name}."


def test_work_ahead_is_less_by_the_shares(job: Job, books: User):
    (before,) = works_ahead(TODAY())
    write(job, 40, "PREP", "CUT", user=books)
    (after,) = works_ahead(TODAY())
    assert before.bench_min - after.bench_min == pytest.approx(40)


def test_an_account_holds_the_shares_and_all_that_was_logged(job: Job, books: User):
    """80 over 30, 45, 5.5 as above; 11 more at the pins alone; 9 done again over 30 and 45 count whole, by their cause."""
    write(job, 80, "PREP", "CUT", "PIN", user=books)
    write(job, 11, "PIN", user=books)
    write(job, 9, "PREP", "CUT", user=books, cause="own-slip")
    deliver(job, invoice=expected_invoice(job), on=TODAY(), user=books, stays_undone=True)
    job.refresh_from_db()
    _, actual = gather(job)
    assert [(row.code, round(row.hours * 60)) for row in actual.hours if not row.unlogged] == [
        ("PREP", 30),
        ("CUT", 45),
        ("PIN", 16),
    ]
    assert [(row.cause, round(row.hours * 60)) for row in actual.rework] == [("own-slip", 9)]
    whole = Fraction(sum(entry.minutes or 0 for entry in TimeEntry.objects.standing()), 60)
    assert abs(sum(map(Fraction, actual.hours_of_rows)) - whole) < Fraction(1, 10**20)


def test_the_job_and_the_operation_tell_the_share(job: Job, books: User):
    write(job, 80, "PREP", "CUT", "PIN", user=books)
    page = job_page(job, user=books, on=TODAY())
    shown = {row.name: row.worked for group in page.groups for row in group.rows if row.worked}
    assert list(shown.values()) == ["30 min", "45 min", "5 min"]
    assert page.worked == "1 h 20"
    cut = operation(job, "CUT")
    (row,) = time_page(cut, user=books).entries
    prep, pin = operation(job, "PREP").name, operation(job, "PIN").name
    assert (row.length, row.sitting) == ("45 min", f"of a sitting of 1 h 20 with {prep}; {pin}")


def test_a_correction_keeps_the_operations_unless_it_says_others(job: Job, books: User):
    entry = write(job, 80, "PREP", "CUT", user=books)
    facts = {"user": books, "day": entry.day, "why": "misread"}
    second = timing.correct(entry, key=uuid4(), minutes=75, **facts)
    assert (names(second), taken(job)) == (["PREP", "CUT"], {"PREP": 30, "CUT": 45})
    others = [operation(job, "CUT"), operation(job, "PIN")]
    third = timing.correct(second, key=uuid4(), minutes=75, operations=others, **facts)
    assert (names(third), third.operation.code) == (["CUT", "PIN"], "CUT")
    fourth = timing.correct(third, key=uuid4(), minutes=75, operations=[operation(job, "PIN")], **facts)
    assert names(fourth) == ["PIN"]
    assert taken(job) == {"PIN": 75}
    (row,) = time_page(operation(job, "PIN"), user=books).entries
    assert [length for _, length in row.earlier] == ["1 h 15", "1 h 15", "1 h 20"]
    assert time_page(operation(job, "PREP"), user=books).entries == []


def test_a_correction_after_delivery_brings_the_account_along(job: Job, books: User):
    entry = write(job, 80, "PREP", user=books)
    deliver(job, invoice=expected_invoice(job), on=TODAY(), user=books, stays_undone=True)
    both = [operation(job, "PREP"), operation(job, "CUT")]
    timing.correct(entry, user=books, key=uuid4(), day=entry.day, minutes=75, why="both", operations=both)
    account = Job.objects.get(pk=job.pk).account
    assert account.minutes == 75
    hours = account.kept.actual.hours
    assert [(row.code, round(row.hours * 60)) for row in hours if not row.unlogged] == [("PREP", 30), ("CUT", 45)]


def test_one_tap_joins_and_one_form_starts_several(job: Job, browser: Browser, maker: User):
    prep, cut, pin = (operation(job, code) for code in ("PREP", "CUT", "PIN"))
    page = reverse("job", args=[job.pk])
    join = reverse("timer-join", args=[job.pk, pin.pk])
    assert join not in browser.get(page).content.decode()
    several = reverse("sitting-start", args=[job.pk])
    key = str(uuid4())
    for _ in range(2):
        browser.post(several, {"key": key, "operations": [cut.pk, prep.pk]})
    shown = browser.get(page).content.decode()
    assert f"with {cut.name}" in shown
    assert join in shown
    assert browser.post(join)["Location"] == page
    entry = TimeEntry.objects.get()
    assert (entry.operation, names(entry)) == (prep, ["PREP", "CUT", "PIN"])
    assert join not in browser.get(page).content.decode()


def test_a_form_of_several_with_nothing_checked_is_told(job: Job, browser: Browser):
    several = reverse("sitting-start", args=[job.pk])
    answer = browser.post(several, {"key": str(uuid4())}, follow=True).content.decode()
    assert "No operation was checked." in answer
    assert "too old" in browser.post(several, {"operations": operation(job, "CUT").pk}, follow=True).content.decode()
    assert not TimeEntry.objects.exists()


def test_time_is_written_and_corrected_for_several_in_the_browser(job: Job, browser: Browser):
    prep, cut, pin = (operation(job, code) for code in ("PREP", "CUT", "PIN"))
    said = {"key": str(uuid4()), "day": TODAY().isoformat(), "minutes": "1:20"}
    browser.post(reverse("operation-time", args=[job.pk, prep.pk]), {**said, "operations": [cut.pk]})
    entry = TimeEntry.objects.get()
    assert names(entry) == ["PREP", "CUT"]
    correct = reverse("time-correct", args=[entry.pk])
    shown = browser.get(correct)
    assert shown.context["form"]["operations"].value() == [prep.pk, cut.pk]
    moved = browser.post(correct, {**said, "key": str(uuid4()), "why": "the pins", "operations": [pin.pk]})
    assert moved["Location"] == reverse("operation-time", args=[job.pk, pin.pk])
    start = reverse("timer-start", args=[job.pk, cut.pk])
    browser.post(start, {"key": str(uuid4()), "cause": "fit", "operations": [pin.pk]})
    runs = TimeEntry.objects.get(ended_at=None)
    assert (runs.cause, names(runs)) == ("fit", ["CUT", "PIN"])


def test_a_sitting_that_runs_counts_what_it_took_so_far(job: Job, browser: Browser, maker: User):
    since = timezone.now() - timedelta(minutes=75)
    prep, cut = operation(job, "PREP"), operation(job, "CUT")
    facts = {"by": maker, "started_at": since, "day": TODAY(), "key": uuid4()}
    TimeEntry.objects.create(operation=prep, **facts).also.create(operation=cut)
    rows = {row.pk: row for group in job_page(job, user=maker, on=TODAY()).groups for row in group.rows}
    assert (rows[prep.pk].worked, rows[cut.pk].worked) == ("30 min", "45 min")
    assert (rows[prep.pk].is_running, rows[cut.pk].is_running) == (True, True)
    assert [row.can_join for row in rows.values()].count(False) == 2


def test_an_entry_that_is_corrected_while_its_page_is_read_does_no_harm(
    job: Job, books: User, monkeypatch: pytest.MonkeyPatch
):
    pin = operation(job, "PIN")
    entry = timing.write_down(pin, user=books, key=uuid4(), day=timezone.localdate(), minutes=5)

    def corrected_meanwhile(entries: QuerySet[TimeEntry]) -> list[Worked]:
        timing.correct(entry, user=books, key=uuid4(), day=entry.day, minutes=7, why="It was longer.")
        return worked(entries)

    monkeypatch.setattr("studio.bench.job_page.worked", corrected_meanwhile)
    assert time_page(pin, user=books).entries == []
    monkeypatch.undo()
    assert [row.length for row in time_page(pin, user=books).entries] == ["7 min"]
