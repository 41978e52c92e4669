"""Photographs of earlier versions lose their positions. Sources: Exif 2.32, 4.6.6; the rule is the product's own."""

from importlib import import_module
from io import BytesIO
from pathlib import Path

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.test import Client as Browser
from django.urls import reverse
from PIL import Image
from support_bench import new_job
from support_pictures import photograph

from inventory.models import StockMaterial
from quotes.models import PatternRevision
from studio.client.personal_data import keep_photo
from studio.models import Job, JobPhoto

upgrade = import_module("studio.migrations.0015_photographs_written_anew")


def exif_of(path: Path) -> Image.Exif:
    return Image.open(BytesIO(path.read_bytes())).getexif()


@pytest.fixture
def disk(settings, tmp_path: Path) -> Path:
    """Where photographs are kept."""
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def job(books: User, pattern: PatternRevision, two_layers: dict, disk: Path) -> Job:
    made = new_job(books, pattern, two_layers)
    made.client.may_photograph = True
    made.client.save()
    return made


def test_photographs_kept_before_are_written_anew_once(job: Job, disk: Path, django_capture_on_commit_callbacks):
    kept = keep_photo(job, photo=ContentFile(photograph("PNG"), name="a.png"), words="Toile")
    missing = keep_photo(job, photo=ContentFile(b"gone", name="gone.png"), words="")
    (disk / missing.photo.name).unlink()
    broken = keep_photo(job, photo=ContentFile(b"no picture", name="b.png"), words="")
    cloth = StockMaterial.objects.first()
    assert cloth is not None
    cloth.photo.save("c.webp", ContentFile(photograph("WEBP")))
    with django_capture_on_commit_callbacks(execute=True):
        upgrade.write_anew(apps, None)
    for row in (JobPhoto.objects.get(pk=kept.pk), StockMaterial.objects.get(pk=cloth.pk)):
        assert row.photo.name.endswith(".jpg")
        assert not exif_of(Path(row.photo.path))
    assert [JobPhoto.objects.get(pk=row.pk).photo.name for row in (missing, broken)] == ["jobs/gone.png", "jobs/b.png"]
    assert sorted(path.suffix for path in disk.rglob("*.*")) == [".jpg", ".jpg", ".png"]


def test_a_photograph_of_a_piece_keeps_no_position(job: Job, maker: User):
    browser = Browser()
    browser.force_login(maker)
    sent = BytesIO(photograph("JPEG"))
    sent.name = "toile.jpg"
    assert browser.post(reverse("job-photo-new", args=[job.pk]), {"photo": sent, "words": "Toile"}).status_code == 302
    assert not exif_of(Path(JobPhoto.objects.get().photo.path))
