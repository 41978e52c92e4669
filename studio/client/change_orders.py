"""Use case of change orders: what a client agreed to after acceptance, priced and added to what is invoiced."""

from datetime import date

from django.contrib.auth.models import User
from django.db import transaction

from inventory.shelf.settings import must_have_come
from studio.jobs.acts import open_job
from studio.models import ChangeOrder, Job

__all__ = ["agree_change"]


@transaction.atomic
def agree_change(
    job: Job, *, what: str, net_minor: int, minutes: int, agreed_on: date, user: User | None
) -> ChangeOrder:
    """Note an agreed change; the same words, price and day count once, so that a double click does.

    Args:
        net_minor: without tax; below zero where something is left out.
        minutes: the work that it adds.

    Raises:
        Refused: a job that is over, or a day to come.
    """
    job = open_job(job.pk, hint="Quote what is asked for now as a piece of its own.")
    must_have_come(agreed_on, "change.day", "Write the day it was agreed.")
    return ChangeOrder.objects.get_or_create(
        job=job, what=what, net_minor=net_minor, minutes=minutes, agreed_on=agreed_on, defaults={"by": user}
    )[0]
