"""Learning on the bench: what delivered jobs propose, taken or refused, on its page and by its command.

Outside: a plain mean (where every entry of an operation is half as long again, its factor lies between 1 and 1.5, and
all others stay); hours × rate for the effect on a price; repeating an answer changes nothing (common practice, no
source).
"""

import json
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from io import StringIO
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_bench import delivered_copy
from support_kept import minutes_evidence
from support_learning import SLOW, deliver_again, logged, minutes_of

from inventory.ground.findings import Refused
from inventory.ground.wording import day_text, percent_text
from quotes.labour.hours import assumptions
from quotes.workroom.settings import set_minutes, standard_times, workroom
from studio.bench.timing import correct
from studio.client.delivery import deliver, expected_invoice
from studio.learning.answers import refuse_change, take
from studio.learning.learning import learning, propose
from studio.learning.log import delivered_log
from studio.models import DayPresent, Job, LearntChange, TimeEntry
from studio.profit.piece import Unlogged


@pytest.fixture
def delivered(open_job: Job, books: User) -> list[Job]:
    """Eight delivered jobs that took half as long again at one operation."""
    return [deliver_again(open_job, books, days_ago=90 - 10 * turn, slow=1.5) for turn in range(8)]


def answer() -> dict[str, Any]:
    out = StringIO()
    call_command("calibrate", "--json", stdout=out)
    return json.loads(out.getvalue())


def logged_jobs() -> dict[str, Any]:
    """The log by reference."""
    return {job.name: job for job in delivered_log(standard_times()).jobs}


def estimates_of(code: str) -> list[float]:
    """What each job of the log was estimated at one operation."""
    return [
        row.estimated_min for job in delivered_log(standard_times()).jobs for row in job.operations if row.code == code
    ]


def test_the_log_has_the_delivered_jobs_in_their_order(open_job: Job, delivered: list[Job]):
    log = delivered_log(standard_times())
    assert [job.name for job in log.jobs] == [job.reference for job in delivered]
    assert {len(job.operations) for job in log.jobs} == {open_job.operations.count()}
    assert {session.maker for job in log.jobs for session in job.sessions} == {""}
    assert (log.earlier, log.delivered, dict(log.names)[SLOW]) == (0, 8, open_job.operations.get(code=SLOW).name)


def test_only_the_latest_jobs_are_looked_at(delivered: list[Job], monkeypatch):
    few = replace(assumptions(), jobs_kept=3)
    monkeypatch.setattr("studio.learning.log.assumptions", lambda: few)
    log = delivered_log(standard_times())
    assert [job.name for job in log.jobs] == [job.reference for job in delivered[-3:]]
    assert (log.earlier, log.delivered) == (5, 8)


def test_only_planned_work_that_was_not_corrected_counts(delivered: list[Job], books: User):
    row = delivered[0].operations.get(code=SLOW)
    day = delivered[0].delivered_on
    wrong = row.entries.get()
    logged(row, books, 17, day, replaces=wrong, why="The clock was wrong.")
    logged(row, books, 5, day)
    logged(row, books, 99, day, cause=TimeEntry.Cause.OWN_SLIP)
    sessions = logged_jobs()[delivered[0].reference].sessions
    assert sorted(session.minutes for session in sessions if SLOW in session.operations) == [5, 17]


def test_a_job_begins_with_its_first_entry_and_what_was_struck_out_is_none(delivered: list[Job], books: User):
    row = delivered[0].operations.get(code=SLOW)
    day = delivered[0].delivered_on
    earlier = day - timedelta(days=6)
    logged(row, books, 5, earlier)
    wrong = logged(row, books, 5, day - timedelta(days=30))
    logged(row, books, 0, day + timedelta(days=3), replaces=wrong, why="Another job.")
    found = logged_jobs()[delivered[0].reference]
    assert (found.begun, found.delivered) == (earlier, day)


def test_an_operation_that_was_ticked_without_time_is_done_and_one_that_was_not_is_not(delivered: list[Job]):
    job = delivered[0]
    facts = {"group": "making", "planned_min": 9, "estimated_min": 9}
    job.operations.create(code="PRESS2", name="Press again", place=98, done_at=timezone.now(), **facts)
    job.operations.create(code="PRESS3", name="Press once more", place=99, **facts)
    found = {row.code: row for row in logged_jobs()[job.reference].operations}
    assert (found["PRESS2"].done, found["PRESS3"].done) == (True, False)
    worked = {row.code for row in logged_jobs()[job.reference].worked}
    assert "PRESS2" in worked
    assert "PRESS3" not in worked


def test_what_was_said_at_delivery_counts_before_the_tick(delivered: list[Job]):
    job = delivered[0]
    facts = {"group": "making", "planned_min": 9, "estimated_min": 9}
    job.operations.create(code="PRESS2", name="Press again", place=98, unlogged=Unlogged.MISSING, **facts)
    ticked = {"done_at": timezone.now(), "unlogged": Unlogged.UNDONE}
    job.operations.create(code="PRESS3", name="Press once more", place=99, **facts, **ticked)
    found = {row.code: row.done for row in logged_jobs()[job.reference].operations}
    assert (found["PRESS2"], found["PRESS3"]) == (True, False)


def test_who_corrected_an_entry_did_not_work_it(delivered: list[Job], books: User):
    row = delivered[0].operations.get(code=SLOW)
    other = User.objects.create_user("second")
    wrong = row.entries.get()
    logged(row, other, 17, delivered[0].delivered_on, replaces=wrong, why="The clock was wrong.")
    assert {session.maker for session in logged_jobs()[delivered[0].reference].sessions} == {""}
    logged(row, other, 12, delivered[0].delivered_on)
    makers = {session.minutes: session.maker for session in logged_jobs()[delivered[0].reference].sessions}
    assert (makers[17], makers[12]) == (books.get_username(), "second")


def test_time_of_which_none_is_believed_is_not_called_unlogged(open_job: Job, books: User, browser: Browser):
    job = delivered_copy(open_job, days_ago=3)
    facts = {"group": "making", "planned_min": 30, "estimated_min": 30}
    row = job.operations.create(code=SLOW, name="Sew", place=1, **facts)
    logged(row, books, 5000, job.delivered_on)
    shown = browser.get(reverse("learning")).content.decode()
    assert "1 entry that is not believed" in shown
    assert "No time that was logged of a delivered piece is believed" in shown


def test_makers_are_told_apart_where_there_are_several(delivered: list[Job], books: User):
    other = User.objects.create_user("second")
    logged(delivered[0].operations.get(code=SLOW), other, 12, delivered[0].delivered_on)
    makers = {session.maker for session in logged_jobs()[delivered[0].reference].sessions}
    assert makers == {books.get_username(), "second"}


def test_a_sitting_over_several_operations_is_one_observation(delivered: list[Job], books: User):
    first, second = delivered[0].operations.all()[:2]
    logged(first, books, 70, delivered[0].delivered_on).also.create(operation=second)
    sessions = logged_jobs()[delivered[0].reference].sessions
    assert [session.minutes for session in sessions if session.operations == (first.code, second.code)] == [70]


def test_hours_present_are_held_against_the_log(delivered: list[Job], books: User, browser: Browser):
    for job in delivered:
        DayPresent.objects.create(day=job.delivered_on, by=books, minutes=1440)
    logged_min = sum(entry.minutes or 0 for entry in TimeEntry.objects.filter(operation__job=delivered[0]))
    share = percent_text(round(min(1.0, logged_min / 1440), 2))
    assert (
        f"On 8 days with hours present noted, {share} of them was logged"
        in browser.get(reverse("learning")).content.decode()
    )


def test_a_slow_operation_is_proposed_with_its_effect_on_price(delivered: list[Job]):
    found = propose(timezone.localdate())
    row = LearntChange.objects.get(state="open", what=SLOW)
    assert 1.1 < row.value < 1.6
    change = next(change for change in found.changes if change.operation == SLOW)
    room, times = workroom(), standard_times()
    newest = delivered[-1].operations.get(code=SLOW).estimated_min
    hours = newest * (change.factor - 1) * (1 + times.allowance_share) / 60
    rate = Decimal(room.rates["labour_per_hour"]) + Decimal(room.rates["overhead_per_hour"])
    assert row.grounds.effect_on_price == pytest.approx(Decimal(hours) * rate, abs=Decimal("0.006"))
    assert row.grounds.example == delivered[-1].reference
    assert row.grounds.entries == 8


def test_proposing_again_refreshes_the_same_row(open_job: Job, delivered: list[Job], books: User):
    propose(timezone.localdate())
    first = LearntChange.objects.get(what=SLOW)
    deliver_again(open_job, books, days_ago=1, slow=1.9)
    propose(timezone.localdate())
    again = LearntChange.objects.get(what=SLOW)
    assert again.pk == first.pk
    assert again.value > first.value
    assert again.grounds.entries == 9


def test_a_proposal_goes_when_its_entries_go(delivered: list[Job]):
    propose(timezone.localdate())
    for entry in TimeEntry.objects.filter(operation__code=SLOW):
        correct(entry, user=entry.by, key=uuid4(), day=entry.day, minutes=0, why="timed at another piece")
    propose(timezone.localdate())
    assert not LearntChange.objects.filter(what=SLOW).exists()


def test_taking_changes_the_next_estimate_and_is_not_proposed_again(open_job: Job, delivered: list[Job], books: User):
    before = minutes_of(open_job, SLOW)
    propose(timezone.localdate())
    taken = take(LearntChange.objects.get(what=SLOW), books)
    assert minutes_of(open_job, SLOW) == pytest.approx(before * taken.value, rel=1e-4)
    paced = next(row for row in standard_times().operations if row.code == SLOW)
    assert (paced.pace, paced.pace_why) == (taken.value, f"from 8 jobs, {day_text(timezone.localdate())}")
    propose(timezone.localdate())
    assert not LearntChange.objects.filter(what=SLOW, state="open").exists()
    with pytest.raises(Refused, match="already"):
        take(taken, books)


def test_jobs_quoted_by_learnt_minutes_are_measured_by_the_same_table(open_job: Job, delivered: list[Job], books: User):
    """Else what was taken would be unlearnt by the jobs that it foretold well."""
    propose(timezone.localdate())
    taken = take(LearntChange.objects.get(what=SLOW), books)
    deliver_again(open_job, books, days_ago=0, slow=1.5, scale=taken.value)
    expected = estimates_of(SLOW)
    assert expected == pytest.approx([expected[0]] * 9)


def test_what_was_taken_can_be_learnt_back(open_job: Job, delivered: list[Job], books: User):
    """A pace in the table that the entries do not bear out is proposed away, down to what they say."""
    take(
        LearntChange.objects.create(
            kind="minutes", what="SEW2", value=2.0, evidence=minutes_evidence(name="Second pass", pace=1.0)
        ),
        books,
    )
    propose(timezone.localdate())
    row = LearntChange.objects.get(what="SEW2", state="open")
    assert 0.8 < row.value < 1.2
    assert row.grounds.learnt_min < row.grounds.default_min
    assert row.grounds.effect_on_price < 0


def test_refusing_keeps_it_away_until_it_has_moved(open_job: Job, delivered: list[Job], books: User):
    before = minutes_of(open_job, SLOW)
    propose(timezone.localdate())
    refused = refuse_change(LearntChange.objects.get(what=SLOW), books)
    assert minutes_of(open_job, SLOW) == before
    assert SLOW not in {change.operation for change in learning().changes}
    LearntChange.objects.filter(pk=refused.pk).update(value=refused.value / 1.09)
    assert SLOW not in {change.operation for change in learning().changes}
    LearntChange.objects.filter(pk=refused.pk).update(value=refused.value / 1.11)
    assert SLOW in {change.operation for change in learning().changes}


def test_the_command_says_what_the_books_say(delivered: list[Job]):
    document = answer()
    assert set(document) == {"jobs", "mape_default", "mape_learnt", "coverage_80", "proposals"}
    assert document["jobs"] == 8
    estimated = sum(row.estimated_min for row in delivered[0].operations.all())
    took = sum(entry.minutes or 0 for entry in TimeEntry.objects.filter(operation__job=delivered[0]))
    assert document["mape_default"] == pytest.approx(abs(estimated / took - 1), abs=0.0001)
    assert document["mape_learnt"] < 0.1
    assert 0 <= document["coverage_80"] <= 1
    row = next(row for row in document["proposals"] if row["operation"] == SLOW)
    assert set(row) == {"operation", "default_min", "learnt_min", "entries", "effect_on_price"}
    assert row["learnt_min"] > row["default_min"]
    assert not LearntChange.objects.exists()
    out = StringIO()
    call_command("calibrate", stdout=out)
    assert "Judged 8 jobs." in out.getvalue()


def test_the_command_without_delivered_jobs_says_so(books: User):
    document = answer()
    findings = document.pop("findings")
    assert document == {"jobs": 0, "mape_default": None, "mape_learnt": None, "coverage_80": None, "proposals": []}
    assert [(row["severity"], row["code"]) for row in findings] == [("note", "learning.no-jobs")]


def test_the_page_shows_takes_and_remembers(open_job: Job, delivered: list[Job], browser: Browser):
    propose(timezone.localdate())
    shown = browser.get(reverse("learning")).content.decode()
    row = LearntChange.objects.get(what=SLOW)
    for words in ("Pieces judged", "The range held", row.grounds.name, "times the table", "Take", "Refuse"):
        assert words in shown
    done = browser.post(reverse("learning-take", args=[row.pk]), follow=True).content.decode()
    assert "Taken on" in done
    assert reverse("learning-take", args=[row.pk]) not in done
    again = browser.post(reverse("learning-take", args=[row.pk]), follow=True).content.decode()
    assert "This was taken already." in again


def test_the_page_refuses(delivered: list[Job], browser: Browser):
    propose(timezone.localdate())
    row = LearntChange.objects.get(what=SLOW)
    done = browser.post(reverse("learning-refuse", args=[row.pk]), follow=True).content.decode()
    assert "Refused on" in done
    assert next(found.pace for found in standard_times().operations if found.code == SLOW) == 1


def test_the_page_without_delivered_jobs_says_so(books: User, browser: Browser):
    assert "No piece has been delivered yet." in browser.get(reverse("learning")).content.decode()


def test_answers_are_posted_and_the_login_stands_before_all(delivered: list[Job], browser: Browser):
    propose(timezone.localdate())
    row = LearntChange.objects.get(what=SLOW)
    ways = [reverse("learning-take", args=[row.pk]), reverse("learning-refuse", args=[row.pk])]
    assert [browser.get(way).status_code for way in ways] == [405, 405]
    assert browser.post(reverse("learning")).status_code == 405
    assert browser.post(reverse("learning-take", args=[row.pk + 999])).status_code == 404
    stranger = Browser()
    answers = [stranger.get(reverse("learning")), *(stranger.post(way) for way in ways)]
    assert all(found.status_code == 302 and "/login/" in found["Location"] for found in answers)
    row.refresh_from_db()
    assert row.state == "open"


def set_by_hand(times: float) -> None:
    """Let the maker's page of standard minutes say so many times the minutes of the slow operation."""
    rows = [
        {**row, "setup_min": row["setup_min"] * times, "unit_min": {k: v * times for k, v in row["unit_min"].items()}}
        if row["code"] == SLOW
        else row
        for row in workroom().times["operations"]
    ]
    set_minutes({**workroom().times, "operations": rows})


def test_minutes_set_by_hand_count_as_they_are_set_and_are_learnt_anew(delivered: list[Job], books: User):
    """Jobs that were quoted by the old minutes would make of the new ones what they made of the old."""
    propose(timezone.localdate())
    proposal = LearntChange.objects.get(state="open", what=SLOW)
    set_by_hand(1.5)
    with pytest.raises(Refused, match="were changed since this was proposed"):
        take(proposal, books)
    propose(timezone.localdate())
    assert not LearntChange.objects.filter(state="open", what=SLOW).exists()
    names = dict(delivered_log(standard_times()).names)
    assert SLOW not in names
    (before,) = (code for code in names if code.startswith(f"{SLOW} before "))
    assert names[before].endswith(f", before {day_text(timezone.localdate())}")
    assert names.keys() > {"CUT", "PRESS"}


def test_a_pace_that_was_taken_goes_with_the_minutes_that_it_was_of(open_job: Job, delivered: list[Job], books: User):
    propose(timezone.localdate())
    take(LearntChange.objects.get(state="open", what=SLOW), books)
    learnt = minutes_of(open_job, SLOW)
    set_by_hand(1.25)
    plain = next(row for row in standard_times().operations if row.code == SLOW)
    assert (plain.pace, bool(plain.since)) == (1.0, True)
    assert minutes_of(open_job, SLOW) != learnt
    later = deliver_again(open_job, books, days_ago=0, slow=1.25, scale=1.25)
    (estimated,) = estimates_of(SLOW)
    assert delivered_log(standard_times()).jobs[-1].name == later.reference
    assert estimated == pytest.approx(1.25 * open_job.operations.get(code=SLOW).estimated_min)


def test_what_was_not_changed_by_hand_keeps_its_pace(delivered: list[Job], books: User, browser: Browser):
    propose(timezone.localdate())
    take(LearntChange.objects.get(state="open", what=SLOW), books)
    before = workroom().times
    set_minutes(before)
    assert workroom().times == before
    page = browser.get(reverse("quotes:minutes")).content.decode()
    assert page.count("as was learnt") == 1
    assert "learning begins anew" in page


def test_looking_at_what_is_learnt_proposes_nothing(delivered: list[Job], browser: Browser):
    assert browser.get(reverse("learning")).status_code == 200
    assert not LearntChange.objects.exists()


def test_a_delivery_proposes_once_it_is_kept(
    open_job: Job, delivered: list[Job], books: User, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True) as left_to_do:
        deliver(open_job, invoice=expected_invoice(open_job), on=timezone.localdate(), user=books)
        assert not LearntChange.objects.exists()
    assert left_to_do
    assert LearntChange.objects.filter(what=SLOW, state=LearntChange.State.OPEN).exists()


def test_a_fault_in_learning_leaves_the_delivery_as_it_is(
    open_job: Job, delivered: list[Job], books: User, monkeypatch, django_capture_on_commit_callbacks
):
    def fails(*args: object) -> None:
        raise RuntimeError("no minutes")

    monkeypatch.setattr("studio.learning.learning.delivered_log", fails)
    with django_capture_on_commit_callbacks(execute=True):
        deliver(open_job, invoice=expected_invoice(open_job), on=timezone.localdate(), user=books)
    open_job.refresh_from_db()
    assert open_job.stage == Job.Stage.DELIVERED


def test_a_proposal_of_minutes_that_were_set_since_is_not_shown(delivered: list[Job], browser: Browser):
    propose(timezone.localdate())
    change = LearntChange.objects.get(what=SLOW)
    assert reverse("learning-take", args=[change.pk]) in browser.get(reverse("learning")).content.decode()
    room = workroom()
    for operation in room.times["operations"]:
        if operation["code"] == SLOW:
            operation["since"] = timezone.now().isoformat()
    room.save()
    assert reverse("learning-take", args=[change.pk]) not in browser.get(reverse("learning")).content.decode()
