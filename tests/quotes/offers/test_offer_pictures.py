"""What a sealed offer shows stays as it was sealed. Rules are the product's own; data addresses as RFC 2397 has them."""

import re
from datetime import timedelta
from io import BytesIO

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from pypdf import PdfReader

from inventory.ground.pictures import Picture, logo_of, swatch_of_cloth, tone_of_picture
from inventory.models import StockMaterial
from inventory.shelf.pictures import keep_picture
from inventory.stock.price_list import keep_material
from quotes.desk.client_offer import client_offer_pdf
from quotes.desk.quoting import offer_of_today, send
from quotes.documents.offer import offer_paper
from quotes.languages.catalogue import catalogue
from quotes.models import QuoteRevision
from quotes.offers.links import make_link, token_of
from quotes.seal.snapshot import offer_fingerprint
from quotes.workroom.settings import workroom

pytestmark = pytest.mark.django_db


def file_of(colour: tuple[int, ...], size: tuple[int, int] = (200, 200)) -> bytes:
    out = BytesIO()
    Image.new("RGBA" if len(colour) == 4 else "RGB", size, colour).save(out, "PNG")
    return out.getvalue()


GREEN, RED = (swatch_of_cloth(file_of(colour)) for colour in ((10, 90, 60), (150, 20, 40)))
LOGO, NEWER = (logo_of(file_of((*colour, 200), (300, 80))) for colour in ((20, 30, 90), (90, 30, 20)))


def photographed(swatch: Picture) -> None:
    """All cloths of the shelf have this photograph from now on."""
    for cloth in StockMaterial.objects.filter(kind="cloth"):
        cloth.photo.name = "there.png"
        keep_material(cloth, price_source="test", swatch=swatch)


def with_logo(logo: Picture) -> None:
    room = workroom()
    room.logo = keep_picture(logo)
    room.save()


@pytest.fixture
def sent(draft: QuoteRevision, books: User) -> QuoteRevision:
    photographed(GREEN)
    with_logo(LOGO)
    seen = offer_fingerprint(offer_of_today(draft))
    return send(revision=draft, valid_until=timezone.localdate() + timedelta(days=9), seen=seen, user=books)


def page_of(revision: QuoteRevision, user: User) -> str:
    link = make_link(revision, expires_at=timezone.now() + timedelta(days=1), user=user)
    answer = Browser().get(reverse("quotes:private-offer", args=[token_of(link)]))
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_client_sees_cloth_and_logo_within_the_page_itself(sent: QuoteRevision, books: User):
    page = page_of(sent, books)
    assert GREEN.address in page
    assert LOGO.address in page
    assert page.count("<figure>") == 2 * len(sent.snapshot.quotation.options)
    # Who has the link fetches nothing else: every picture stands in the page.
    for address in re.findall(r'<(?:img|image)[^>]* (?:src|href)="([^"]+)"', page):
        assert address.startswith("data:image/")
    assert " style=" not in page


def test_newer_pictures_leave_a_sealed_offer_as_it_was(sent: QuoteRevision, books: User):
    before = client_offer_pdf(sent.snapshot, is_draft=False)
    photographed(RED)
    with_logo(NEWER)
    page = page_of(QuoteRevision.objects.get(pk=sent.pk), books)
    assert GREEN.address in page
    assert LOGO.address in page
    assert RED.address not in page
    assert NEWER.address not in page
    assert client_offer_pdf(QuoteRevision.objects.get(pk=sent.pk).snapshot, is_draft=False) == before


def test_another_photograph_or_logo_is_another_offer(draft: QuoteRevision):
    seen = set()
    for change in (lambda: None, lambda: photographed(GREEN), lambda: photographed(RED), lambda: with_logo(LOGO)):
        change()
        seen.add(offer_fingerprint(offer_of_today(draft)))
    assert len(seen) == 4


def test_the_pdf_shows_them_and_stays_archival_and_accessible(sent: QuoteRevision):
    made = client_offer_pdf(sent.snapshot, is_draft=False)
    assert b"pdfaid" in made
    assert b"pdfuaid" in made
    first = PdfReader(BytesIO(made)).pages[0]
    assert "/XObject" in first["/Resources"]
    sizes = {tuple(image.image.size) for image in first.images if image.image is not None}
    assert (300, 80) in sizes


def test_a_picture_that_is_not_kept_here_leaves_the_tone(sent: QuoteRevision):
    paper = offer_paper(sent.snapshot, catalogue("en"), is_draft=False, pictures={})
    assert paper.logo == ""
    outside = tone_of_picture(GREEN)
    for view in (view for option in paper.options for view in option.views):
        assert f'fill="{outside}"' in view.svg
        assert "data:" not in view.svg


def test_the_logo_is_set_and_taken_away_on_the_workrooms_page(browser: Browser, books: User):
    address = reverse("quotes:workroom")
    said = {
        field.name: field.value()
        for field in browser.get(address).context["form"]
        if field.name != "logo" and field.value() not in (None, False, "")
    }
    logo = SimpleUploadedFile("logo.png", file_of((20, 30, 90, 200), (300, 80)))
    assert browser.post(address, {**said, "logo": logo}).status_code == 302
    assert workroom().logo_id == LOGO.digest
    assert LOGO.digest in browser.get(address).content.decode()
    assert browser.post(address, said).status_code == 302
    assert workroom().logo_id == LOGO.digest
    broken = browser.post(address, {**said, "logo": SimpleUploadedFile("logo.png", b"none")})
    assert broken.status_code == 422
    assert "This is no JPEG, PNG or WebP picture" in broken.content.decode()
    assert browser.post(address, {**said, "no_logo": "on"}).status_code == 302
    assert workroom().logo_id is None
