"""A client who is erased: photographs go from the disk, accounts keep their money and lose the name.

What law of records asks to be kept and what a person may have erased: common practice, no source.
"""

from pathlib import Path
from uuid import uuid4

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.db import transaction
from django.utils import timezone
from support_books import agreed, finished, month_before, today

from quotes.clients.clients import erase_client
from quotes.models import Client, PatternRevision
from studio.bench.job_making import make_job
from studio.books.months import close_month
from studio.client.fittings import hold_fitting, plan_fitting
from studio.client.payments import take_payment
from studio.client.personal_data import keep_photo
from studio.models import Fitting, Job, JobPhoto, PieceAccount

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


def test_what_was_noted_at_fittings_is_blank_and_the_appointment_stays(pattern: PatternRevision, books: User):
    open_job = make_job(agreed(pattern, books), user=books, on=LAST)
    other = make_job(agreed(pattern, books, client="Mira Solveig", title="Other"), user=books, on=LAST)
    for job in (open_job, other):
        fitting = plan_fitting(job, kind="boned", at=timezone.now(), minutes=60, notes="left hip higher")
        hold_fitting(
            fitting, held_on=today(), notes="scar under the busk", alterations="8 mm in", signs_toile=False, user=books
        )
    erase_client(open_job.client)
    said = Fitting.objects.order_by("job").values_list("notes", "alterations", "held_on")
    assert list(said) == [("", "", today()), ("scar under the busk", "8 mm in", today())]


def test_no_row_of_the_bench_or_the_books_holds_the_name_any_more(job: Job, books: User):
    """Of what the bench writes by itself; what the maker writes in words of their own stays, as the page says."""
    take_payment(job, what="balance", amount_minor=100, fee_minor=0, day=today(), note="", key=uuid4(), user=books)
    close_month(LAST.year, LAST.month, user=None)
    erase_client(job.client)
    rows = [row for model in apps.get_app_config("studio").get_models() for row in model._default_manager.values()]
    assert len(rows) > 40
    assert [row for row in rows if "Farrant" in str(row)] == []


@pytest.mark.parametrize("is_closed", [False, True])
def test_the_account_keeps_its_money_under_the_erased_name(job: Job, is_closed: bool):
    if is_closed:
        close_month(LAST.year, LAST.month, user=None)
    before = PieceAccount.objects.values().get()
    erase_client(job.client)
    after = PieceAccount.objects.values().get()
    assert before["client_name"] == "Odile Farrant"
    assert after == {**before, "client_name": f"Erased client {job.client_id}"}
