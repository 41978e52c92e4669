"""A kept plan that is older than the time from one review to the next says so; the rule is the product's own."""

from datetime import datetime, timedelta

import pytest
from django.test import Client as Browser
from django.urls import reverse
from django.utils import timezone

from inventory.buying.plan_age import plan_age_words
from inventory.buying.reordering import plan_reorder
from inventory.models import KeptPlan, Shelf

pytestmark = pytest.mark.django_db


def kept(*, days_ago: int, ordered_at: datetime | None = None) -> KeptPlan:
    """The plan of an empty shelf, as if it had been made so many days ago at this time by the workroom's clock."""
    plan = plan_reorder(on=timezone.localdate(), user=None, seconds=5)
    # From local time: clocks may have been put back since, and then a day of 24 hours is another date near midnight.
    made_at = timezone.localtime() - timedelta(days=days_ago)
    KeptPlan.objects.filter(pk=plan.pk).update(made_at=made_at, ordered_at=ordered_at)
    return KeptPlan.objects.get(pk=plan.pk)


@pytest.mark.parametrize(
    ("days_ago", "words"),
    [
        (0, ""),
        (14, ""),
        (15, "Planned 15 days ago; plan anew before you order."),
        (40, "Planned 40 days ago; plan anew before you order."),
    ],
)
def test_a_plan_holds_until_the_next_review(days_ago: int, words: str):
    Shelf.objects.update(review_days=14)
    assert plan_age_words(kept(days_ago=days_ago), on=timezone.localdate()) == words


def test_a_plan_that_was_used_or_never_made_has_no_age():
    assert plan_age_words(kept(days_ago=40, ordered_at=timezone.now()), on=timezone.localdate()) == ""
    assert plan_age_words(None, on=timezone.localdate()) == ""


def test_the_page_says_it(browser: Browser):
    Shelf.objects.update(review_days=14)
    kept(days_ago=16)
    page = browser.get(reverse("inventory:reorder")).content.decode()
    assert "Planned 16 days ago; plan anew before you order." in page
