"""The range of a new estimate follows what was delivered, and what was taken can be taken back.

Outside: how often ranges hold is tested in the pure room, on simulated workrooms; here, that jobs which took just what was
estimated narrow the range of new quotes, and that taking back leaves what stood before (common practice, no source).
"""

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_kept import loss_evidence, minutes_evidence, range_evidence
from support_learning import SLOW, deliver_again, minutes_of

from inventory.ground.findings import Refused
from quotes.desk.figures import work_out
from quotes.seal.snapshot import SNAPSHOT
from quotes.takeoff.defaults import defaults
from quotes.workroom.settings import losses, set_minutes, standard_times, workroom
from studio.learning.answers import current_proposals, standing, take, take_back
from studio.learning.learning import propose
from studio.learning.log import delivered_log
from studio.learning.proposals import value_at
from studio.models import Job, LearntChange

PRECISE = 14


@pytest.fixture
def precise(open_job: Job, books: User) -> list[Job]:
    """Jobs that took just what was estimated, but one operation half as long again."""
    return [deliver_again(open_job, books, days_ago=5 * turn, slow=1.5) for turn in range(PRECISE, 0, -1)]


def hours_of(open_job: Job) -> dict[str, Any]:
    """The labour that a quote of today would plan."""
    figures = SNAPSHOT.written(work_out(open_job.revision.inputs, open_job.revision.pattern))
    labour: dict[str, Any] = figures["quotation"]["options"][0]["takeoff"]["labour"]
    return labour


def proposed(what: str) -> LearntChange:
    propose(timezone.localdate())
    return LearntChange.objects.get(what=what, state="open")


@pytest.mark.django_db
def test_the_range_follows_every_delivery_and_stands_under_new_quotes(open_job: Job, precise: list[Job], books: User):
    before = hours_of(open_job)
    propose(timezone.localdate())
    after = hours_of(open_job)
    assert after["total_min"] == before["total_min"]
    assert before["low_min"] < after["low_min"] <= after["total_min"] <= after["high_min"] < before["high_min"]
    assert f"the {PRECISE} latest pieces of which time was logged" in after["range_rule"]
    assert not LearntChange.objects.filter(kind="range").exists()


@pytest.mark.django_db
def test_the_range_narrows_from_the_first_piece_on(open_job: Job, books: User):
    widths = []
    for turn in range(4, 0, -1):
        found = hours_of(open_job)
        widths.append(found["high_min"] / found["low_min"])
        deliver_again(open_job, books, days_ago=5 * turn, slow=1.5)
        propose(timezone.localdate())
    assert widths == sorted(widths, reverse=True)
    assert len(set(widths)) == 4


@pytest.mark.django_db
def test_a_range_that_an_earlier_version_kept_has_no_answer_any_more(precise: list[Job], books: User):
    """Open ones go with the next delivery; a taken one stays in the list of what was decided."""
    facts = {"kind": "range", "what": "hours", "value": 1.2, "evidence": range_evidence()}
    taken = LearntChange.objects.create(state="taken", decided_at=timezone.now(), decided_by=books, **facts)
    waiting = LearntChange.objects.create(**facts)
    assert (current_proposals(standard_times()), standing(standard_times())) == ([], set())
    for act, row in ((take, waiting), (take_back, taken)):
        with pytest.raises(Refused, match="follows every delivery"):
            act(row, books)
    propose(timezone.localdate())
    assert list(LearntChange.objects.filter(kind="range")) == [taken]


@pytest.mark.django_db
def test_what_is_taken_back_leaves_what_stood_before(open_job: Job, precise: list[Job], books: User):
    before = minutes_of(open_job, SLOW)
    first = take(proposed(SLOW), books)
    second = take(
        LearntChange.objects.create(
            kind="minutes", what=SLOW, value=2.0, evidence=minutes_evidence(name="First pass", pace=first.value)
        ),
        books,
    )
    with pytest.raises(Refused, match="does not stand"):
        take_back(first, books)
    take_back(second, books)
    assert minutes_of(open_job, SLOW) == pytest.approx(before * first.value, rel=1e-4)
    take_back(first, books)
    assert minutes_of(open_job, SLOW) == before
    with pytest.raises(Refused, match="does not stand"):
        take_back(first, books)
    loss = take(
        LearntChange.objects.create(kind="loss", what="tip_spoilage_share", value=0.2, evidence=loss_evidence()), books
    )
    assert losses().tip_spoilage_share.value == 0.2
    take_back(loss, books)
    assert losses().tip_spoilage_share.value == defaults().tip_spoilage_share


@pytest.mark.django_db
def test_minutes_set_by_hand_since_are_not_taken_back(open_job: Job, precise: list[Job], books: User):
    taken = take(proposed(SLOW), books)
    assert standing(standard_times()) == {taken.pk}
    times = standard_times()
    rows = [{**row, "setup_min": 9.0} if row["code"] == SLOW else row for row in workroom().times["operations"]]
    set_minutes({**workroom().times, "operations": rows})
    assert standing(standard_times()) == set()
    with pytest.raises(Refused, match="set by hand since"):
        take_back(taken, books)
    assert [row.pace for row in standard_times().operations] == [1.0] * len(times.operations)


@pytest.mark.django_db
def test_what_was_taken_back_is_not_proposed_at_once(open_job: Job, precise: list[Job], books: User):
    take_back(take(proposed(SLOW), books), books)
    propose(timezone.localdate())
    assert not LearntChange.objects.filter(what=SLOW, state="open").exists()


@pytest.mark.django_db
def test_jobs_are_measured_by_the_table_as_it_stood_when_they_were_quoted(
    open_job: Job, precise: list[Job], books: User
):
    taken = take(proposed(SLOW), books)
    within = deliver_again(open_job, books, days_ago=0, slow=1.5, scale=taken.value)
    take_back(taken, books)
    after = deliver_again(open_job, books, days_ago=0, slow=1.5)
    expected = {
        job.name: row.estimated_min
        for job in delivered_log(standard_times()).jobs
        for row in job.operations
        if row.code == SLOW
    }
    assert expected[within.reference] == pytest.approx(expected[precise[0].reference])
    assert expected[after.reference] == pytest.approx(expected[precise[0].reference])


def test_a_value_stands_from_its_moment_until_it_is_taken_back():
    start = timezone.now()
    at = [start + timedelta(days=turn) for turn in range(4)]
    dated = [(at[0], 1.2), (at[1], 1.4), (at[2], 1.2), (at[3], None)]
    moments = [None, start - timedelta(days=1), *(when + timedelta(hours=1) for when in at)]
    assert [value_at(dated, moment, 1.0) for moment in moments] == [1.0, 1.0, 1.2, 1.4, 1.2, 1.0]


@pytest.mark.django_db
def test_the_page_takes_back_what_stands(open_job: Job, precise: list[Job], browser: Browser):
    propose(timezone.localdate())
    row = LearntChange.objects.get(what=SLOW)
    way = reverse("learning-take-back", args=[row.pk])
    assert way not in browser.get(reverse("learning")).content.decode()
    taken = browser.post(reverse("learning-take", args=[row.pk]), follow=True).content.decode()
    assert way in taken
    done = browser.post(way, follow=True).content.decode()
    assert "; taken back on" in done
    assert way not in done
    assert "does not stand any more" in browser.post(way, follow=True).content.decode()
    assert browser.get(way).status_code == 405
    assert "/login/" in Browser().post(way)["Location"]
