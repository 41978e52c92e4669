"""A client who is erased: photographs go from the disk, accounts keep their money and lose the name.

What law of records asks to be kept and what a person may have erased: common practice, no source.
"""

from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.db import transaction
from support_books import agreed, finished, month_before, today

from quotes.models import Client, PatternRevision
from quotes.services.clients import erase_client
from studio.models import Job, JobPhoto, PieceAccount
from studio.services.months import close_month
from studio.services.photos import keep_photo

LAST = month_before(today())


@pytest.fixture
def disk(settings, tmp_path: Path) -> Path:
    """Where photographs are kept."""
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def job(pattern: PatternRevision, books: User) -> Job:
    """A piece that was delivered on the twelfth of last month."""
    return finished(agreed(pattern, books), books, on=LAST)


def photographed(job: Job, name: str) -> JobPhoto:
    Client.objects.filter(pk=job.client_id).update(may_photograph=True)
    job.client.refresh_from_db()
    return keep_photo(job, photo=ContentFile(b"\x89PNG", name=name), words="Toile")


def pictures(disk: Path) -> list[str]:
    return sorted(path.name for path in disk.rglob("*.png"))


def test_photographs_go_from_the_disk_once_the_erasing_is_certain(
    job: Job, pattern: PatternRevision, books: User, disk: Path, django_capture_on_commit_callbacks
):
    other = finished(agreed(pattern, books, client="Mira Solveig"), books, on=LAST)
    for of, name in ((job, "front.png"), (job, "back.png"), (other, "other.png")):
        photographed(of, name)
    with django_capture_on_commit_callbacks(execute=True):
        erase_client(job.client)
        assert pictures(disk) == ["back.png", "front.png", "other.png"]
    assert pictures(disk) == ["other.png"]
    assert [photo.job for photo in JobPhoto.objects.all()] == [other]


def test_an_erasing_that_is_taken_back_leaves_the_photographs(job: Job, disk: Path, django_capture_on_commit_callbacks):
    photographed(job, "front.png")
    with django_capture_on_commit_callbacks(execute=True), transaction.atomic():
        erase_client(job.client)
        transaction.set_rollback(True)
    assert pictures(disk) == ["front.png"]
    assert JobPhoto.objects.count() == 1


@pytest.mark.parametrize("is_closed", [False, True])
def test_the_account_keeps_its_money_under_the_erased_name(job: Job, is_closed: bool):
    if is_closed:
        close_month(LAST.year, LAST.month, user=None)
    before = PieceAccount.objects.values().get()
    erase_client(job.client)
    after = PieceAccount.objects.values().get()
    assert before["client_name"] == "Odile Farrant"
    assert after == {**before, "client_name": f"Erased client {job.client_id}"}
