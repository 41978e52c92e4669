"""What is issued goes to open work or to a named purpose, chosen and never written; what was written before is still read."""

from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone
from support_shelf import act, item, stocked

from inventory.ground.findings import Refused
from inventory.models import Lot, Posting, Reservation
from inventory.reserving.reservations import Wish, end, reserve
from inventory.stock.audit import audit
from inventory.stock.ledger import give_back, issue
from inventory.stock.moved import last_movement

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot(books: object) -> Lot:
    """20 metres of cord of which work Q7 needs 2."""
    found = stocked(item(), 20_000, 2_000)
    wish = Wish(item=found.item, quantity=2_000, operation="lacing", needs_one_lot=False)
    day = timezone.localdate()
    reserve(reference="Q7", title="Underbust", link="", wishes=[wish], needed_by=day, expires_on=None)
    return found


def form(**said: str) -> dict[str, str]:
    return {"key": str(uuid4()), **said}


def errors(answer: object) -> list[str]:
    return [str(error) for found in answer.context["form"].errors.values() for error in found]  # type: ignore[attr-defined]


def test_open_work_and_purposes_can_be_chosen_and_nothing_can_be_written(lot: Lot, browser: Browser):
    path = reverse("inventory:lot-issue", args=[lot.pk])
    shown = browser.get(path).content.decode()
    assert all(words in shown for words in ("Q7, Underbust", "Sample", "Sale", "Teaching", "Waste", "Own use"))
    assert browser.post(path, form(quantity="1", job="the neighbour")).status_code == 422
    for job in ("Q7", "for:teaching"):
        assert browser.post(path, form(quantity="1", job=job)).status_code == 302
    assert list(Posting.objects.filter(kind="issue").order_by("pk").values_list("job", "purpose")) == [
        ("Q7", ""),
        ("", "teaching"),
    ]
    history = browser.get(reverse("inventory:lot", args=[lot.pk])).content.decode()
    assert "Teaching" in history
    assert audit().differences == ()


def test_work_that_is_over_is_offered_no_more(lot: Lot, browser: Browser):
    end("Q7", why="Delivered")
    assert Reservation.objects.get().state == "over"
    path = reverse("inventory:lot-issue", args=[lot.pk])
    assert "Q7, Underbust" not in browser.get(path).content.decode()
    assert browser.post(path, form(quantity="1", job="Q7")).status_code == 422


def test_what_a_purpose_did_not_use_comes_back_from_it_alone(lot: Lot, browser: Browser):
    issue(act(), lot=lot, quantity=3_000, purpose="sample")
    with pytest.raises(Refused, match=r"Sample holds 3 m of .*, so 4 m cannot"):
        give_back(act(), lot=lot, quantity=4_000, purpose="sample")
    path = reverse("inventory:lot-give-back", args=[lot.pk])
    assert browser.post(path, form(quantity="1", job="Q7")).status_code == 422
    assert browser.post(path, form(quantity="1", job="for:sample")).status_code == 302
    lot.refresh_from_db()
    assert lot.on_hand == 18_000


def test_what_was_written_before_is_shown_as_it_is_and_can_come_back(lot: Lot, browser: Browser):
    issue(act(), lot=lot, quantity=1_000, job="fair, stand 3")
    assert "fair, stand 3" in browser.get(reverse("inventory:item", args=[lot.item.code])).content.decode()
    path = reverse("inventory:lot-give-back", args=[lot.pk])
    assert browser.post(path, form(quantity="1", job="fair, stand 3")).status_code == 302


def test_the_database_refuses_both_a_job_and_a_purpose(lot: Lot):
    with pytest.raises(IntegrityError), transaction.atomic():
        Posting.objects.create(
            key=uuid4(), fingerprint="x", kind="issue", job="Q7", purpose="sale", at=timezone.now(), why=""
        )


def test_a_digit_too_many_in_an_issue_is_asked_about(lot: Lot, browser: Browser):
    path = reverse("inventory:lot-issue", args=[lot.pk])
    said = form(quantity="16", job="Q7")  # eight times the 2 m that are to go to it
    asked = browser.post(path, said)
    assert asked.status_code == 422
    assert errors(asked) == ["16 m are far more than what is usual, about 2 m. Is there a digit too many?"]
    assert not Posting.objects.filter(kind="issue").exists()
    tick = asked.context["form"].fields["sure_of"].widget.attrs["value"]
    assert [browser.post(path, {**said, "sure_of": tick}).status_code for _ in range(2)] == [302, 302]
    assert Posting.objects.filter(kind="issue").count() == 1
    assert browser.post(path, form(quantity="1.9", job="for:waste")).status_code == 302


def test_a_digit_too_many_in_a_count_is_asked_about(lot: Lot, browser: Browser):
    path = reverse("inventory:lot-count", args=[lot.pk])
    said = form(quantity="200", book="20000", seen=str(last_movement(lot)), why="found more")
    asked = browser.post(path, said)
    assert errors(asked) == ["200 m are far more than the 20 m on the book. Is there a digit too many?"]
    assert "Yes, so many" in asked.content.decode()
    tick = asked.context["form"].fields["sure_of"].widget.attrs["value"]
    assert browser.post(path, {**said, "sure_of": tick}).status_code == 302
    lot.refresh_from_db()
    assert lot.on_hand == 200_000
    assert (
        browser.post(path, form(quantity="300", book="200000", seen=str(last_movement(lot)), why="more")).status_code
        == 302
    )


WRITTEN = ["", "-5", "0", "1.00005x", "1000000000000", "€5", "1.250,00", "1,250.00", "5e3", "NaN"]


@pytest.mark.parametrize("written", WRITTEN)
@pytest.mark.parametrize("name", ["lot-issue", "lot-give-back", "lot-count"])
def test_quantities_as_people_slip_are_answered_in_one_sentence_and_move_nothing(
    lot: Lot, browser: Browser, name: str, written: str
):
    issue(act(), lot=lot, quantity=1_000, purpose="sample")
    if (name, written) == ("lot-count", "0"):
        return  # nothing may lie there
    said = form(quantity=written, job="for:sample", book="19000", seen="0", why="x")
    before = Posting.objects.count()
    answer = browser.post(reverse(f"inventory:{name}", args=[lot.pk]), said)
    assert answer.status_code == 422
    assert len(errors(answer)) == 1
    assert Posting.objects.count() == before
