"""Pages on a phone of 390 × 844: nothing stands beside the screen, what is pressed is large enough and lies bare.

Sources: WCAG 2.2, success criteria 1.4.10 (reflow) and 2.5.8 (targets of 24 CSS pixels at the least), from memory.
"""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.utils import timezone
from playwright.sync_api import expect
from support_bench import job_of
from support_hand import PHONE, Hand
from support_phone import must_fit

from quotes.desk.quoting import revise
from quotes.models import QuoteRevision
from quotes.offers.links import make_link, token_of
from studio.models import Job


@pytest.fixture
def phone(maker: User, new_hand: Callable[..., Hand]) -> Hand:
    """The maker's phone, logged in."""
    found = new_hand(PHONE)
    found.come_in()
    return found


@pytest.fixture
def job(sent: QuoteRevision, books: User) -> Job:
    return job_of(sent, books)


@pytest.mark.parametrize(
    ("address", "action"),
    [
        ("/", "Start a quote"),
        ("/quotes/", "Start a quote"),
        ("/quotes/new/", "Start"),
        ("{sent}", "Accept"),
        ("{sent}client/", ""),
        ("{sent}links/", "Make a link"),
        ("{draft}", "Send"),
        ("{draft}send/", "Seal and count as sent"),
        ("{draft}options/0/", "Keep"),
        ("/bench/", ""),
        ("/bench/day/", ""),
        ("/bench/{job}/", ""),
    ],
)
def test_a_page_of_the_maker_fits(phone: Hand, german: QuoteRevision, job: Job, books: User, address: str, action: str):
    places = {"sent": f"/quotes/{german.quote_id}/1/", "draft": f"/quotes/{german.quote_id}/2/", "job": str(job.pk)}
    if "{draft}" in address:
        revise(revision=german, user=books)
    phone.open(address.format(**places))
    must_fit(phone)
    if action:
        found = phone.page.locator("main").locator("button, a.button")
        expect(found.filter(has_text=re.compile(rf"^\s*{action}\s*$")).first).to_be_visible()


@pytest.mark.parametrize(
    "slip",
    [
        "document.querySelector('h1').style.minWidth = '500px'",
        "document.querySelector('main a.button').style.cssText = 'min-height: 0; height: 20px; padding: 0'",
        "document.querySelector('main a.button').style.cssText = 'position: absolute; left: -20px'",
        "document.querySelector('header').style.cssText = 'position: fixed; inset: 0'",
    ],
)
def test_a_page_that_does_not_fit_is_noticed(phone: Hand, slip: str):
    must_fit(phone)
    phone.page.evaluate(slip)
    with pytest.raises(AssertionError):
        must_fit(phone)


def test_a_client_reads_and_accepts_on_a_phone(german: QuoteRevision, books: User, new_hand: Callable[..., Hand]):
    link = make_link(german, expires_at=timezone.now() + timedelta(days=5), user=books)
    client = new_hand(PHONE)
    client.open(f"/offer/{token_of(link)}/")
    must_fit(client)
    client.choose("Ausführung", "Eine Lage")
    client.write("Ihr Name", "Ottilie Brandis")
    client.press("button", "Ich nehme an")
    expect(client.page.get_by_role("status")).to_contain_text("Angenommen am")
    must_fit(client)


def test_a_timer_is_started_and_stopped_by_touch(phone: Hand, job: Job):
    phone.open("/bench/")
    phone.page.get_by_role("link", name=job.title).tap()
    phone.page.wait_for_url(f"**/bench/{job.pk}/")
    phone.page.get_by_role("button", name="Start").first.tap()
    stop = phone.page.get_by_role("button", name="Stop").first
    expect(stop).to_be_visible()
    must_fit(phone)
