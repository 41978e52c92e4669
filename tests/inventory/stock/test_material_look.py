"""How a material looks: its own tone, its photograph, the words of its colour. Rules are the product's own."""

from importlib import import_module
from io import BytesIO
from pathlib import Path

import pytest
from django.apps import apps
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import DatabaseError, transaction
from django.template import Context, Template
from django.test import Client as Browser
from django.urls import reverse
from PIL import Image

import inventory.migrations
from inventory.models import KeptPicture, StockMaterial

pytestmark = pytest.mark.django_db

CODE = "coutil-black"


@pytest.fixture(autouse=True)
def _photographs(settings: object, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path  # type: ignore[attr-defined]


@pytest.fixture
def cloth(books: User) -> StockMaterial:
    return StockMaterial.objects.get(code=CODE)


def photograph(colour: tuple[int, int, int] = (10, 90, 60)) -> SimpleUploadedFile:
    out = BytesIO()
    Image.new("RGB", (400, 300), colour).save(out, "PNG")
    return SimpleUploadedFile("a.png", out.getvalue())


def kept(browser: Browser, **changes: object) -> StockMaterial:
    """The material after its form was sent back with changes; None leaves a field out."""
    shown = browser.get(reverse("inventory:material", args=[CODE])).context["form"]
    said = {field.name: field.value() for field in shown}
    said = {name: value for name, value in said.items() if value not in (None, False, "") and name != "photo"}
    said |= changes
    answer = browser.post(
        reverse("inventory:material", args=[CODE]), {name: value for name, value in said.items() if value is not None}
    )
    assert answer.status_code == 302, answer.context["form"].errors
    return StockMaterial.objects.get(code=CODE)


def test_a_cloth_is_drawn_in_the_words_of_its_colour_until_the_maker_chooses(browser: Browser, cloth: StockMaterial):
    assert kept(browser).colour_value == ""
    assert cloth.priced().shown_tone == "#000000"
    chosen = kept(browser, colour_value="#1a1c22")
    assert (chosen.colour_value, chosen.priced().shown_tone) == ("#1a1c22", "#1a1c22")
    assert kept(browser).colour_value == "#1a1c22"
    assert kept(browser, by_words="on").colour_value == ""


def test_a_tone_that_is_none_is_refused(browser: Browser, cloth: StockMaterial):
    answer = browser.post(reverse("inventory:material", args=[CODE]), {"name": "x", "colour_value": "red"})
    assert answer.status_code == 422
    assert "A colour is written as #rrggbb." in answer.content.decode()


def test_a_photograph_gives_a_swatch_and_its_tone(browser: Browser, cloth: StockMaterial):
    with_photo = kept(browser, photo=photograph())
    assert with_photo.swatch is not None
    assert with_photo.priced().swatch == with_photo.swatch.digest
    assert with_photo.priced().shown_tone == with_photo.photo_tone
    red, green, blue = (int(with_photo.photo_tone[at : at + 2], 16) for at in (1, 3, 5))
    assert (red, green, blue) == pytest.approx((10, 90, 60), abs=3)
    served = browser.get(reverse("inventory:picture", args=[with_photo.swatch.digest]))
    assert served["Content-Type"] == "image/jpeg"
    assert Image.open(BytesIO(served.content)).size == (300, 300)
    # The same photograph again is the same picture; without it there is none.
    assert kept(browser, photo=photograph()).swatch == with_photo.swatch
    assert KeptPicture.objects.count() == 1
    away = kept(browser, **{"photo-clear": "on"})
    assert (away.swatch, away.photo_tone) == (None, "")


def test_what_only_begins_like_a_picture_is_refused(browser: Browser, cloth: StockMaterial):
    broken = SimpleUploadedFile("a.png", b"\x89PNG\r\n\x1a\n and no more")
    answer = browser.post(reverse("inventory:material", args=[CODE]), {"name": "x", "photo": broken})
    assert answer.status_code == 422
    assert "or a broken one." in answer.content.decode()
    assert not KeptPicture.objects.exists()


def test_pictures_are_for_who_is_logged_in_and_there(browser: Browser, cloth: StockMaterial):
    swatch = kept(browser, photo=photograph()).swatch
    assert swatch is not None
    assert Browser().get(reverse("inventory:picture", args=[swatch.digest])).status_code == 302
    assert browser.get(reverse("inventory:picture", args=["0" * 64])).status_code == 404


def test_a_kept_picture_never_changes_and_is_never_deleted(browser: Browser, cloth: StockMaterial):
    kept(browser, photo=photograph())
    StockMaterial.objects.update(swatch=None)
    pictures = KeptPicture.objects.all()
    for change in (lambda: pictures.update(data=b"other"), pictures.all().delete):
        with pytest.raises(DatabaseError), transaction.atomic():
            change()


def test_photographs_of_earlier_versions_are_shown_too(browser: Browser, cloth: StockMaterial):
    swatch = kept(browser, photo=photograph()).swatch
    StockMaterial.objects.update(swatch=None, photo_tone="")
    other = StockMaterial.objects.exclude(pk=cloth.pk).first()
    assert other is not None
    other.photo.save("broken.png", ContentFile(b"none"))
    found = next(Path(inventory.migrations.__path__[0]).glob("*_colours_and_pictures.py"))
    import_module(f"inventory.migrations.{found.stem}").swatches_of_photographs(apps, None)
    assert StockMaterial.objects.get(code=CODE).swatch == swatch
    assert StockMaterial.objects.get(pk=other.pk).swatch is None


def test_a_swatch_stands_beside_a_name(browser: Browser, cloth: StockMaterial):
    tag = Template("{% swatch material %}")
    for material in (cloth, cloth.priced()):
        assert 'fill="#000000"' in tag.render(Context({"material": material}))
    with_photo = kept(browser, photo=photograph())
    for material in (with_photo, with_photo.priced()):
        assert reverse("inventory:picture", args=[with_photo.swatch_id]) in tag.render(Context({"material": material}))
