"""Use cases of payments: what a client paid or got back. Nothing is changed afterwards; a slip is reversed by another row."""

import logging
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F, Max
from django.db.models.functions import Greatest
from django.utils import timezone

from inventory.ground.findings import Finding, doubt, must_be_sure, refuse
from inventory.ground.wording import day_text, minor_text
from inventory.models import Shelf
from inventory.shelf.settings import must_be_open, must_have_come, shelf
from studio.accounts.accounting import settle
from studio.defaults import studio_defaults
from studio.models import Job, Payment, PieceAccount
from studio.money.bills import bill
from studio.money.standing import Bill

__all__ = ["day_of_reversal", "reverse_payment", "take_payment"]

logger = logging.getLogger(__name__)
_REVERSED = UUID("a52c1f0e-7d35-4f3b-8a43-2a3c3b0a6f11")


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
    sure_of: str | None = None,
) -> Payment:
    """Note a payment under the next receipt's number; the same key counts once.

    Args:
        amount_minor: more than zero; what is paid back is kept below zero.
        fee_minor: what the bank or card kept of it.
        sure_of: the yes to what looked unlikely (inventory.ground.findings); None where nobody is there to be asked.

    Raises:
        Refused: nothing, a day to come or of a closed month, far more than the bill, a fee of more than the payment,
            more paid back than came; or what is unlikely and was not answered with yes.
    """
    # One row is locked for all, so that receipts are numbered without a gap and a form sent twice finds itself.
    Shelf.objects.select_for_update().get(pk=1)
    is_back = what == Payment.What.REFUND
    signed = -amount_minor if is_back else amount_minor
    if (known := Payment.objects.filter(key=key).first()) is not None:
        _must_be_the_same(known, (job.pk, what, signed, fee_minor, day))
        return known
    # As it stands under the lock: of two windows the second finds what the first has done.
    job = Job.objects.select_related("revision").get(pk=job.pk)
    if amount_minor <= 0:
        raise refuse("payment.nothing", "amount", "Nothing would be paid.", "Say how much.")
    must_have_come(day, "payment.day", "Write the day on which it came.")
    must_be_open(day)
    owed = bill(job)
    if is_back:
        _must_have_come_before(job, owed, amount_minor)
    else:
        _must_be_of_this_bill(job, owed, amount_minor)
    if fee_minor > amount_minor:
        fee, amount = (minor_text(minor, job.currency.code) for minor in (fee_minor, amount_minor))
        raise refuse(
            "payment.fee", "fee", f"A fee of {fee} is more than the {amount} that it is part of.", "Correct it."
        )
    doubts = [*_doubts(job, owed, what=what, amount_minor=amount_minor, day=day)]
    must_be_sure([*doubts, *_fee_doubts(job, amount_minor=amount_minor, fee_minor=fee_minor)], sure_of)
    payment = Payment.objects.create(
        job=job,
        number=_next_number(),
        what=what,
        amount_minor=signed,
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


@transaction.atomic
def reverse_payment(payment: Payment, *, why: str, user: User | None) -> Payment:
    """Take a payment back that was entered wrongly: another row of the same kind says the opposite, and why.

    It is of the payment's own day, so that its month is right again; of today where that month is closed. Once more
    answers with the row that is there.

    Raises:
        Refused: no reason, a row that reverses another itself, or money that went back since.
    """
    Shelf.objects.select_for_update().get(pk=1)
    if (known := Payment.objects.filter(reverses=payment).first()) is not None:
        return known
    if not why:
        raise refuse("payment.no-reason", "why", "A reversal needs a reason.", "Say what was wrong.")
    if payment.reverses_id is not None:
        raise refuse("payment.reversal", str(payment), "It reverses another row itself.", "Note the payment anew.")
    job = Job.objects.select_related("revision").get(pk=payment.job_id)
    kept = bill(job).kept_minor
    if payment.amount_minor > 0 and payment.amount_minor > kept:
        there, asked = (minor_text(minor, job.currency.code) for minor in (max(0, kept), payment.amount_minor))
        raise refuse(
            "payment.went-back",
            str(payment),
            f"Only {there} of what came is still here, so {asked} cannot be taken off.",
            "Reverse what was paid back first.",
        )
    reversal = Payment.objects.create(
        job=job,
        number=_next_number(),
        what=payment.what,
        amount_minor=-payment.amount_minor,
        fee_minor=-payment.fee_minor,
        day=day_of_reversal(payment.day),
        note=why,
        key=uuid5(_REVERSED, str(payment.key)),
        by=user,
        noted_at=timezone.now(),
        reverses=payment,
    )
    if payment.fee_minor:
        _bear_late_fee(job, -payment.fee_minor)
    logger.info("Reversed payment=%s by=%s job=%s", payment.number, reversal.number, job.reference)
    return reversal


def _must_be_the_same(known: Payment, said: tuple[object, ...]) -> None:
    """A form that is sent again with other figures is no second click."""
    if (known.job_id, known.what, known.amount_minor, known.fee_minor, known.day) != said:
        raise refuse(
            "payment.key-reused",
            "form",
            f"This form was sent before with other figures: {known} is noted.",
            "Open it again and repeat.",
        )


def day_of_reversal(day: date) -> date:
    """Return the day of what takes back a row of a day: the same, or today where its month is closed."""
    closed_until = shelf().closed_until
    return timezone.localdate() if closed_until is not None and day <= closed_until else day


def _next_number() -> int:
    return (Payment.objects.aggregate(last=Max("number"))["last"] or 0) + 1


def _must_have_come_before(job: Job, owed: Bill, amount_minor: int) -> None:
    came = owed.kept_minor
    if amount_minor > came:
        there, asked = (minor_text(minor, job.currency.code) for minor in (max(0, came), amount_minor))
        raise refuse("payment.too-much-back", "amount", f"{there} came for this job, so {asked} cannot go back.")


def _must_be_of_this_bill(job: Job, owed: Bill, amount_minor: int) -> None:
    """More than twice the bill is a slip; a little more than is due can be, and is asked about."""
    if amount_minor > studio_defaults().money.most_paid_factor * owed.agreed_minor:
        whole, asked = (minor_text(minor, job.currency.code) for minor in (owed.agreed_minor, amount_minor))
        raise refuse(
            "payment.too-much",
            "amount",
            f"{asked} cannot be for this piece: its whole bill is {whole}.",
            "Look at the amount and at the job.",
        )


def _doubts(job: Job, owed: Bill, *, what: str, amount_minor: int, day: date) -> Iterator[Finding]:
    def money(minor: int) -> str:
        return minor_text(minor, job.currency.code)

    is_back, is_made = what == Payment.What.REFUND, job.stage != Job.Stage.CANCELLED
    if not is_back and is_made and amount_minor > owed.balance_minor:
        due = money(max(0, owed.balance_minor))
        yield doubt("payment.more-than-due", "amount", f"{money(amount_minor)} is more than the {due} that is due.")
    due_again = amount_minor + owed.balance_minor
    if is_back and is_made and due_again > 0:
        yield doubt(
            "payment.due-again",
            "amount",
            f"The price stays, so {money(due_again)} would be due.",
            "Where the price is meant to be lower, note a lower price instead.",
        )
    signed = -amount_minor if is_back else amount_minor
    alike = Payment.objects.filter(job=job, day=day, amount_minor=signed, reverses=None, reversed_by=None).first()
    if alike is not None:
        yield doubt("payment.twice", "amount", f"{money(amount_minor)} of {day_text(day)} is noted already: {alike}.")
    if day < timezone.localdate() - timedelta(days=studio_defaults().money.long_ago_days):
        yield doubt("payment.long-ago", "day", f"{day_text(day)} is long ago.")


def _fee_doubts(job: Job, *, amount_minor: int, fee_minor: int) -> Iterator[Finding]:
    share = studio_defaults().money.large_fee_share
    if fee_minor > share * Decimal(amount_minor):
        fee, amount = (minor_text(minor, job.currency.code) for minor in (fee_minor, amount_minor))
        yield doubt("payment.large-fee", "fee", f"A fee of {fee} is much for a payment of {amount}.")


def _bear_late_fee(job: Job, fee_minor: int) -> None:
    """A fee that comes after the delivery is the piece's own, until its month is closed (studio.books.months).

    A reversal takes back no more than the piece bears: what was said on delivery counts, whatever payments took before.
    """
    in_account = PieceAccount.objects.filter(frozen_at__isnull=True).values("job")
    if Job.objects.filter(pk=job.pk, pk__in=in_account).update(fee_minor=Greatest(F("fee_minor") + fee_minor, 0)):
        settle(job)
