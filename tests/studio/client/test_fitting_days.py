"""A fitting on a day that is past, off or free, or at another's time, is asked about before it is planned or moved."""

from datetime import datetime, time, timedelta

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from studio.models import DayOff, Fitting, Job

ONE_DAY = timedelta(days=1)
NEXT_MONDAY = timezone.localdate() + (7 - timezone.localdate().weekday()) * ONE_DAY


def said(days: int = 0, clock: str = "11:00", **more: str) -> dict[str, str]:
    """A fitting so many days after next Monday."""
    return {"kind": "boned", "at": f"{(NEXT_MONDAY + days * ONE_DAY).isoformat()}T{clock}", "minutes": "60", **more}


def planned(job: Job, days: int, hour: int, *, kind: str = "toile") -> Fitting:
    at = timezone.make_aware(datetime.combine(NEXT_MONDAY + days * ONE_DAY, time(hour)))
    return job.fittings.create(kind=kind, at=at, minutes=60)


@pytest.mark.parametrize(
    ("days", "words"),
    [(-30, "is past."), (2, "is a day off."), (5, "Saturdays have no hours at the table."), (1, "Toile fitting of Q1")],
)
def test_a_doubtful_day_is_asked_about_and_planned_all_the_same(job: Job, browser: Browser, days: int, words: str):
    DayOff.objects.create(first=NEXT_MONDAY + 2 * ONE_DAY, last=NEXT_MONDAY + 2 * ONE_DAY)
    planned(job, 1, 10, kind="toile")
    address = reverse("fitting-new", args=[job.pk])
    clock = "10:59"
    asked = browser.post(address, said(days, clock))
    assert asked.status_code == 422
    assert words in asked.content.decode()
    assert job.fittings.count() == 1
    box = asked.context["form"].fields["all_the_same"].widget.attrs["value"]
    # What was agreed to counts for that very time.
    assert browser.post(address, said(days, "10:58", all_the_same=box)).status_code == 422
    assert job.fittings.count() == 1
    assert browser.post(address, said(days, clock, all_the_same=box)).status_code == 302
    assert job.fittings.count() == 2


def test_a_day_that_nothing_speaks_against_is_not_asked_about(job: Job, browser: Browser):
    planned(job, 0, 10)
    planned(job, 0, 12)
    address = reverse("fitting-new", args=[job.pk])
    assert [browser.post(address, said()).status_code for _ in range(2)] == [302, 302]
    assert job.fittings.count() == 3


def test_a_fitting_is_moved_over_its_own_time_and_asked_about_at_another_s(job: Job, browser: Browser):
    mine, other = planned(job, 0, 10), planned(job, 0, 14, kind="final")
    address = reverse("fitting-move", args=[job.pk, mine.pk])
    assert browser.post(address, said(0, "10:30")).status_code == 302
    asked = browser.post(address, said(0, "14:30"))
    assert asked.status_code == 422
    assert "Final fitting of Q1" in asked.content.decode()
    mine.refresh_from_db()
    assert timezone.localtime(mine.at).hour == 10
    # One that was held takes nobody's time.
    Fitting.objects.filter(pk=other.pk).update(held_on=timezone.localdate())
    assert browser.post(address, said(0, "14:30")).status_code == 302


def test_other_words_to_a_fitting_of_a_doubtful_day_are_kept_unasked(job: Job, browser: Browser):
    saturday = planned(job, 5, 11)
    address = reverse("fitting-move", args=[job.pk, saturday.pk])
    assert browser.post(address, said(5, "11:00", notes="The other shoes")).status_code == 302
    saturday.refresh_from_db()
    assert saturday.notes == "The other shoes"
