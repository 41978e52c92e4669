"""Use cases of payments: what a client paid or got back, and what is still due. Nothing is changed afterwards."""

import logging
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F, Max, Sum
from django.utils import timezone

from inventory.ground.findings import refuse
from inventory.ground.wording import minor_text
from inventory.models import Shelf
from inventory.shelf.settings import must_be_open, must_have_come
from studio.accounts.accounting import settle
from studio.bench.job_making import deposit
from studio.models import Job, Payment, PieceAccount

__all__ = ["Bill", "agreed", "bill", "take_payment"]

logger = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bill:
    """What a client owes for a piece, in minor units with tax: as invoiced, or as quoted and agreed until it is."""

    net_minor: int
    tax_minor: int
    deposit_minor: int
    paid_minor: int

    @property
    def total_minor(self) -> int:
        """All that is to be paid."""
        return self.net_minor + self.tax_minor

    @property
    def balance_minor(self) -> int:
        """What is still to come; below zero where too much came."""
        return self.total_minor - self.paid_minor

    @property
    def deposit_due_minor(self) -> int:
        """What lacks of the deposit."""
        return max(0, self.deposit_minor - self.paid_minor)


def bill(job: Job) -> Bill:
    """Return what is owed for a job and what was paid."""
    paid = deposit(job)
    if job.net_minor is not None and job.tax_minor is not None:
        net, tax = job.net_minor, job.tax_minor
    else:
        net, tax = agreed(job)
    return Bill(net_minor=net, tax_minor=tax, deposit_minor=paid.due_minor, paid_minor=paid.paid_minor)


def agreed(job: Job, *, discount_minor: int = 0) -> tuple[int, int]:
    """Return net and tax of what was quoted and changed since, less a discount, in minor units.

    The tax is the quote's own and that of what changed, rounded once. Where all of the price is given away, nothing is
    taxed: no rest of two roundings is left.
    """
    money = job.currency
    rates = job.revision.snapshot.rates
    changed = (job.changes.aggregate(total=Sum("net_minor"))["total"] or 0) - discount_minor
    net = money.to_minor(job.option.net) + changed
    more = money.round(money.from_minor(changed) * rates.tax_share, rates.rounding)
    return net, max(0, money.to_minor(job.option.tax + more)) if net else 0


@transaction.atomic
def take_payment(
    job: Job,
    *,
    what: str,
    amount_minor: int,
    fee_minor: int,
    day: date,
    note: str,
    key: UUID,
    user: User | None,
) -> Payment:
    """Note a payment under the next receipt's number; the same key counts once.

    Args:
        amount_minor: more than zero; what is paid back is kept below zero.
        fee_minor: what the bank or card kept of it.

    Raises:
        Refused: nothing, a day to come or of a closed month, or more paid back than came.
    """
    # One row is locked for all, so that receipts are numbered without a gap and a form sent twice finds itself.
    Shelf.objects.select_for_update().get(pk=1)
    if (known := Payment.objects.filter(key=key).first()) is not None:
        return known
    if amount_minor <= 0:
        raise refuse("payment.nothing", "amount", "Nothing would be paid.", "Say how much.")
    must_have_come(day, "payment.day", "Write the day on which it came.")
    must_be_open(day)
    is_back = what == Payment.What.REFUND
    if is_back and amount_minor > (came := deposit(job).paid_minor):
        there, asked = (minor_text(minor, job.currency.code) for minor in (max(0, came), amount_minor))
        raise refuse("payment.too-much-back", "amount", f"{there} came for this job, so {asked} cannot go back.")
    payment = Payment.objects.create(
        job=job,
        number=(Payment.objects.aggregate(last=Max("number"))["last"] or 0) + 1,
        what=what,
        amount_minor=-amount_minor if is_back else amount_minor,
        fee_minor=fee_minor,
        day=day,
        note=note,
        key=key,
        by=user,
        noted_at=timezone.now(),
    )
    if fee_minor:
        _bear_late_fee(job, fee_minor)
    logger.info("Took payment=%s job=%s", payment.number, job.reference)
    return payment


def _bear_late_fee(job: Job, fee_minor: int) -> None:
    """A fee that comes after the delivery is the piece's own, until its month is closed (studio.books.months)."""
    in_account = PieceAccount.objects.filter(frozen_at__isnull=True).values("job")
    if Job.objects.filter(pk=job.pk, pk__in=in_account).update(fee_minor=F("fee_minor") + fee_minor):
        settle(job)
