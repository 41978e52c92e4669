"""Use case of change orders: what a client agreed to after acceptance, priced and added to what is invoiced."""

from collections.abc import Iterator
from datetime import date, timedelta

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.ground.findings import Finding, doubt, must_be_sure, refuse
from inventory.ground.wording import day_text, minor_text
from inventory.shelf.settings import must_have_come
from studio.defaults import studio_defaults
from studio.jobs.acts import open_job
from studio.models import ChangeOrder, Job
from studio.money.bills import agreed

__all__ = ["agree_change"]


@transaction.atomic
def agree_change(
    job: Job,
    *,
    what: str,
    net_minor: int,
    minutes: int,
    agreed_on: date,
    user: User | None,
    sure_of: str | None = None,
) -> ChangeOrder:
    """Note an agreed change; the same words, price and day count once, so that a double click does.

    Args:
        net_minor: without tax; below zero where something is left out.
        minutes: the work that it adds.
        sure_of: the yes to what looked unlikely; None where nobody is there to be asked.

    Raises:
        Refused: a job that is over, a day to come, or a price that falls below nothing; or what is unlikely and was not
            answered with yes.
    """
    job = open_job(job.pk, hint="Quote what is asked for now as a piece of its own.")
    must_have_come(agreed_on, "change.day", "Write the day it was agreed.")
    said = {"what": what, "net_minor": net_minor, "minutes": minutes, "agreed_on": agreed_on}
    if (known := ChangeOrder.objects.filter(job=job, **said).first()) is not None:
        return known
    before, _ = agreed(job)
    if net_minor < 0 and before + net_minor < 0:
        price, less = (minor_text(minor, job.currency.code) for minor in (before, -net_minor))
        raise refuse(
            "change.below-nothing", "amount", f"{less} less than {price} is less than nothing.", "Look at the amount."
        )
    must_be_sure([*_doubts(job, before, net_minor=net_minor, agreed_on=agreed_on)], sure_of)
    return ChangeOrder.objects.create(job=job, by=user, **said)


def _doubts(job: Job, before: int, *, net_minor: int, agreed_on: date) -> Iterator[Finding]:
    if net_minor > before:
        price, more = (minor_text(minor, job.currency.code) for minor in (before, net_minor))
        yield doubt("change.more-than-price", "amount", f"{more} more is beyond the {price} of the whole piece.")
    if agreed_on < timezone.localdate() - timedelta(days=studio_defaults().money.long_ago_days):
        yield doubt("change.long-ago", "day", f"{day_text(agreed_on)} is long ago.")
