"""Use cases of accounts: what a delivered piece earned is worked out and kept, until its month is closed.

It is worked out as often as something of the piece changes; once its month is closed, its figures stand.
"""

import logging
from collections.abc import Iterable
from decimal import Decimal

from django.apps.registry import Apps
from django.core.exceptions import FieldDoesNotExist
from django.db import transaction
from django.db.models import Q

from inventory.ground.findings import Refused, refuse
from quotes.workroom.settings import workroom
from studio.accounts.actuals import gather
from studio.accounts.signals import account_made
from studio.jobs.acts import note_down
from studio.models import Job, PieceAccount
from studio.profit.account import account
from studio.profit.kept_account import KEPT_ACCOUNT, KeptAccount

__all__ = ["bring_along", "is_out_of_date", "settle", "settle_again", "settle_all"]

logger = logging.getLogger(__name__)
WORKED_OUT_ANEW = "What it earned was worked out anew: time that nobody logged counts as planned."


@transaction.atomic
def settle(job: Job) -> PieceAccount:
    """Work out what a delivered piece earned and keep it; once more puts today's figures in place of the earlier ones.

    Raises:
        Refused: it is not delivered, its month is closed, or it was quoted in another currency than the shelf's.
    """
    kept = _settled(job)
    _tell()
    return kept


@transaction.atomic
def settle_all(jobs: Iterable[Job]) -> None:
    """Work out what several pieces earned, and tell of it once. Raises as `settle`."""
    for job in jobs:
        _settled(job)
    _tell()


def settle_again(job: Job) -> None:
    """Bring a piece's account along after something of it changed; one that is closed, or not yet made, stays so."""
    if PieceAccount.objects.filter(job=job, frozen_at__isnull=True).exists():
        settle(job)


def bring_along(apps: Apps, **kwargs: object) -> None:
    """Work out anew, once, what earlier versions kept in months that are open; answers the end of a migration.

    A piece that earned otherwise than was kept says so in its diary. Closed months stand as they are.
    """
    try:
        apps.get_model("studio", "PieceAccount")._meta.get_field("is_unsure")
    except (LookupError, FieldDoesNotExist):
        return  # the database was migrated to an earlier form on purpose
    earlier = Q(document__version__lt=KEPT_ACCOUNT.version) | Q(document__version=None)
    for kept in PieceAccount.objects.filter(earlier, frozen_at__isnull=True).select_related("job"):
        try:
            with transaction.atomic():
                anew = settle(kept.job)
                if anew.actual_profit_minor != kept.actual_profit_minor:
                    note_down(kept.job, WORKED_OUT_ANEW, by=None)
        except (Refused, ValueError) as fault:
            # A piece that cannot be worked out stands as it was kept, and keeps no migration from ending.
            logger.warning("Not settled job=%s: %s", kept.job.reference, fault)


def _settled(job: Job) -> PieceAccount:
    job = Job.objects.select_for_update(of=("self",)).select_related("revision", "client").get(pk=job.pk)
    if job.stage != Job.Stage.DELIVERED or job.delivered_on is None:
        raise refuse(
            "account.not-delivered", str(job), "What a piece earned is known once it is delivered.", "Deliver it first."
        )
    kept = PieceAccount.objects.select_for_update().defer("document").filter(job=job).first()
    if kept is not None and kept.frozen_at is not None:
        raise refuse(
            "account.month-closed",
            str(job),
            f"{kept.delivered_on:%B %Y} is closed, and the figures of this piece stand.",
            "What comes to light now counts in the month that is open.",
        )
    quoted, actual = gather(job)
    reckoned = account(quoted, actual)
    money = reckoned.currency
    floor = workroom().rates.get("minimum_per_hour")
    kept, is_new = PieceAccount.objects.update_or_create(
        job=job,
        defaults={
            "delivered_on": job.delivered_on,
            "currency": money.code,
            "net_minor": money.to_minor(reckoned.net),
            "quoted_profit_minor": money.to_minor(reckoned.quoted_profit),
            "actual_profit_minor": money.to_minor(reckoned.profit),
            "labour_minor": money.to_minor(reckoned.labour),
            "per_hour_minor": money.to_minor(reckoned.per_hour or Decimal(0)),
            "minutes": round(reckoned.hours * 60),
            "overhead_minor": money.to_minor(reckoned.overhead),
            "style": job.style,
            "construction": job.construction,
            "client_name": job.client.name,
            # A piece whose time is not sure is not judged by the hour (studio.profit.totals).
            "is_under_floor": floor is not None
            and not reckoned.is_unsure
            and reckoned.earned < Decimal(floor) * reckoned.hours,
            "is_unsure": reckoned.is_unsure,
            "document": KEPT_ACCOUNT.written(KeptAccount(account=reckoned, quoted=quoted, actual=actual)),
        },
    )
    logger.info("Settled job=%s first=%s", job.reference, is_new)
    return kept


def _tell() -> None:
    # What others make of it is no part of this act: a fault there leaves the accounts as they are.
    transaction.on_commit(lambda: account_made.send(sender=PieceAccount), robust=True)


def is_out_of_date(kept: PieceAccount) -> bool:
    """Tell whether something of a piece changed since its account was worked out; a closed one stands in any case."""
    if kept.frozen_at is not None:
        return False
    quoted, actual = gather(kept.job)
    return kept.kept != KeptAccount(account=account(quoted, actual), quoted=quoted, actual=actual)
