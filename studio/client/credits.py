"""Use cases of credits: a lower price after the invoice, with its tax and its reason; a slip is taken back by another row.

A credit never makes anything due again: it takes from the debt, and what was paid beyond the new price may go back with it.
"""

import logging
from datetime import date
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from inventory.ground.findings import doubt, must_be_sure, refuse
from inventory.ground.wording import day_text, minor_text
from inventory.models import Shelf
from inventory.shelf.settings import must_be_open, must_have_come
from studio.accounts.accounting import settle_again
from studio.client.payments import day_of_reversal, take_payment
from studio.jobs.acts import note_down
from studio.models import Credit, Job, Payment
from studio.money.bills import standing
from studio.money.standing import credit_parts

__all__ = ["give_credit", "take_credit_back"]

logger = logging.getLogger(__name__)
_PAID_BACK = UUID("5f0b9f3e-6c58-4f25-9d3f-0f5d5a3b7c42")
_REVERSED = UUID("c7c1c0f4-1c5e-4a0a-b6a2-9d1f7a3e5b20")


@transaction.atomic
def give_credit(
    job: Job,
    *,
    amount_minor: int,
    why: str,
    day: date,
    pays_back: bool,
    key: UUID,
    user: User | None,
    sure_of: str | None = None,
) -> Credit:
    """Lower the price of a delivered piece; its account follows unless its month is closed. The same key counts once.

    Args:
        amount_minor: as the studio says its prices, with tax or without (quotes.pricing.tax).
        pays_back: what was paid beyond the new price goes back on the same day.

    Raises:
        Refused: a piece that is not delivered, nothing, more than is left of the price, no reason, a day to come, before
            the delivery or of a closed month; or the same once more on a day, unless `sure_of` says yes to it.
    """
    Shelf.objects.select_for_update().get(pk=1)
    if (known := Credit.objects.filter(key=key).first()) is not None:
        said = amount_minor in (known.net_minor, known.amount_minor)
        if (known.job_id, known.why, known.day, said) != (job.pk, why, day, True):
            raise refuse(
                "credit.key-reused",
                "form",
                "This form was sent before with other figures.",
                "Open it again and repeat.",
            )
        return known
    job = Job.objects.select_related("revision").get(pk=job.pk)
    if job.stage != Job.Stage.DELIVERED or job.delivered_on is None:
        raise refuse(
            "credit.not-delivered",
            str(job),
            "A piece that is not delivered was not invoiced yet.",
            "Note a change that costs less, or a discount when it is delivered.",
        )
    if not why:
        raise refuse("credit.no-reason", "why", "A lower price needs a reason.", "Say why.")
    if amount_minor <= 0:
        raise refuse("credit.nothing", "amount", "The price would stay as it is.", "Say by how much it is lower.")
    must_have_come(day, "credit.day", "Write the day on which it was agreed.")
    must_be_open(day)
    if day < job.delivered_on:
        raise refuse("credit.day", "day", f"It was delivered on {day_text(job.delivered_on)}, which is later.")
    stands, rates = standing(job), job.revision.snapshot.rates
    left = stands.price_minor if rates.tax_included else stands.net_minor
    if amount_minor > left:
        there, asked = (minor_text(minor, job.currency.code) for minor in (left, amount_minor))
        raise refuse("credit.too-much", "amount", f"{there} is left of the price, so {asked} cannot be taken off.")
    net, tax = credit_parts(amount_minor, standing=stands, rates=rates, currency=job.currency)
    alike = Credit.objects.filter(job=job, day=day, net_minor=net, tax_minor=tax, reverses=None, reversed_by=None)
    if alike.exists():
        words = f"A price lower by {minor_text(net + tax, job.currency.code)} is noted on {day_text(day)} already."
        must_be_sure([doubt("credit.twice", "amount", words)], sure_of)
    credit = Credit.objects.create(
        job=job, net_minor=net, tax_minor=tax, why=why, day=day, key=key, by=user, noted_at=timezone.now()
    )
    back = standing(job).too_much_minor
    if pays_back and back:
        take_payment(
            job,
            what=Payment.What.REFUND,
            amount_minor=back,
            fee_minor=0,
            day=day,
            note=f"Lower price: {why}"[:160],
            key=uuid5(_PAID_BACK, str(key)),
            user=user,
        )
    _follow(job, f"Price lowered by {minor_text(net + tax, job.currency.code)} with tax: {why}", user)
    logger.info("Gave credit=%s job=%s", credit.pk, job.reference)
    return credit


@transaction.atomic
def take_credit_back(credit: Credit, *, why: str, user: User | None) -> Credit:
    """Take a lower price back that was entered wrongly: another row says the opposite, and why. Once more answers with it.

    What was paid back with it stays paid back: it is due again, unless that row is reversed too.

    Raises:
        Refused: no reason, or a row that takes another back itself.
    """
    Shelf.objects.select_for_update().get(pk=1)
    if (known := Credit.objects.filter(reverses=credit).first()) is not None:
        return known
    if not why:
        raise refuse("credit.no-reason", "why", "Taking a lower price back needs a reason.", "Say what was wrong.")
    if credit.reverses_id is not None:
        raise refuse("credit.reversal", str(credit), "It takes another row back itself.", "Note the lower price anew.")
    job = Job.objects.select_related("revision").get(pk=credit.job_id)
    reversal = Credit.objects.create(
        job=job,
        net_minor=-credit.net_minor,
        tax_minor=-credit.tax_minor,
        why=why,
        day=day_of_reversal(credit.day),
        key=uuid5(_REVERSED, str(credit.key)),
        by=user,
        noted_at=timezone.now(),
        reverses=credit,
    )
    amount = minor_text(credit.amount_minor, job.currency.code)
    _follow(job, f"The lower price of {amount} with tax was taken back: {why}", user)
    logger.info("Took credit=%s back job=%s", credit.pk, job.reference)
    return reversal


def _follow(job: Job, words: str, user: User | None) -> None:
    note_down(job, words, by=user)
    settle_again(job)
