"""What one key stands for: the same words once, other words anew, and nothing where nothing was done.

That the same request again has the effect of one is what RFC 9110 (9.2.2) calls idempotent.
"""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.http import HttpResponse
from django.shortcuts import redirect
from django.test import Client as Browser
from django.test import RequestFactory
from django.urls import reverse
from django.utils import timezone
from support_forms import PageForms
from support_shelf import SupplierFactory

from inventory.ground.defaults import shelf_defaults
from inventory.models import DoneAct, Supplier
from inventory.shelf.acting import ACT_KEY, act_once
from quotes.desk.quoting import revise
from quotes.models import QuoteRevision

pytestmark = pytest.mark.django_db
NEW = {"name": "Loom", "code": "loom", "currency": "EUR", "lead_days": "5", "lead_spread_days": "1"}


@pytest.fixture
def key() -> str:
    return str(uuid4())


def test_a_form_that_is_sent_again_leads_to_what_it_made(browser: Browser, key: str):
    path = reverse("inventory:supplier-new")
    answers = [browser.post(path, {**NEW, ACT_KEY: key}) for _ in range(2)]
    assert [answer["Location"] for answer in answers] == [reverse("inventory:supplier", args=["loom"])] * 2
    assert Supplier.objects.count() == DoneAct.objects.count() == 1


def test_other_words_under_the_same_key_are_another_act(browser: Browser, key: str):
    path = reverse("inventory:supplier-new")
    browser.post(path, {**NEW, ACT_KEY: key})
    other = browser.post(path, {**NEW, "code": "mill", ACT_KEY: key})
    assert other["Location"] == reverse("inventory:supplier", args=["mill"])
    assert Supplier.objects.count() == 2


def test_a_form_with_a_fault_may_be_sent_again_under_its_key(browser: Browser, key: str):
    path = reverse("inventory:supplier-new")
    taken = SupplierFactory(code="loom")
    assert browser.post(path, {**NEW, ACT_KEY: key}).status_code == 422
    assert not DoneAct.objects.exists()
    taken.delete()
    assert browser.post(path, {**NEW, ACT_KEY: key}).status_code == 302


def test_what_is_answered_by_a_page_leaves_nothing_saved(key: str):
    def half_done() -> HttpResponse:
        SupplierFactory(code="half")
        return HttpResponse("Something is missing.", status=422)

    act_once(RequestFactory().post("/", {ACT_KEY: key}), half_done)
    assert not Supplier.objects.exists()


def test_a_form_without_a_key_is_done_each_time():
    made = []
    for _ in range(2):
        act_once(RequestFactory().post("/", {"name": "x"}), lambda: redirect(f"/{made.append(1)}"))
    assert len(made) == 2
    assert not DoneAct.objects.exists()


def test_what_asks_by_parts_of_a_page_is_led_as_such(key: str):
    request = RequestFactory().post("/", {ACT_KEY: key}, headers={"HX-Request": "true"})
    act_once(request, lambda: redirect("/there/"))
    again = act_once(request, lambda: redirect("/elsewhere/"))
    assert again.headers["HX-Redirect"] == "/there/"


def test_what_was_refused_may_be_sent_again_under_its_key(browser: Browser, maker: User, sent: QuoteRevision, key: str):
    """The quote has a draft at first; once that is gone, the same press opens one."""
    path = reverse("quotes:revise", args=[sent.quote_id, sent.number])
    revise(revision=sent, user=maker)
    assert browser.post(path, {ACT_KEY: key})["Location"] == reverse("quotes:revision", args=[sent.quote_id, 1])
    sent.quote.revisions.filter(number=2).delete()
    assert browser.post(path, {ACT_KEY: key})["Location"] == reverse("quotes:revision", args=[sent.quote_id, 2])


def test_a_form_that_changes_what_is_there_counts_each_time(browser: Browser):
    supplier = SupplierFactory(code="loom", name="Loom")
    address = reverse("inventory:supplier-edit", args=["loom"])
    form = PageForms(browser.get(address).content.decode(), address).that_has("lead_days")
    for name in ("Mill", "Weaver", "Mill"):
        browser.post(address, form.with_values({"name": name}))
    supplier.refresh_from_db()
    assert supplier.name == "Mill"


def test_acts_of_long_ago_are_forgotten(browser: Browser, key: str):
    DoneAct.objects.create(fingerprint="old", led_to="/")
    DoneAct.objects.update(at=timezone.now() - timedelta(days=shelf_defaults().acts.kept_days + 1))
    browser.post(reverse("inventory:supplier-new"), {**NEW, ACT_KEY: key})
    assert [act.led_to for act in DoneAct.objects.all()] == [reverse("inventory:supplier", args=["loom"])]
