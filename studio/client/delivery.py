"""Use case of delivery: what was invoiced, what the shelf gets back, and what looks unfinished before it."""

import logging
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Sum
from django.utils import timezone

from inventory.ground.findings import Finding, doubt, must_be_sure, refuse, warn
from inventory.ground.wording import day_text, minor_text, named_text
from inventory.models import Shelf
from inventory.reserving.reservations import end
from inventory.shelf.settings import must_be_open, must_have_come
from studio.accounts.accounting import settle
from studio.bench.job_making import Stage
from studio.bench.ticking import forgotten_work, seam_words
from studio.bench.timing import end_all
from studio.defaults import studio_defaults
from studio.jobs.acts import note_down, open_job
from studio.jobs.sittings import without_time
from studio.models import Job, JobOperation, LogHabit, TimeEntry
from studio.money.bills import agreed, bill, tax_of
from studio.profit.piece import Unlogged

__all__ = ["Invoice", "deliver", "delivery_findings", "expected_invoice", "neither_ticked_nor_logged"]

logger = logging.getLogger(__name__)
MOST_NAMED = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Invoice:
    """What was invoiced for a piece and what it took, in minor units; its tax follows (studio.money.bills).

    Attributes:
        net_minor: without tax, with change orders and discount in it.
        fee_minor: what payments took.
        discount_minor: given after acceptance, without tax.
        extras_minor: costs beside material and time: postage, a model, travel.
    """

    net_minor: int
    fee_minor: int
    discount_minor: int
    extras_minor: int


def expected_invoice(job: Job, *, discount_minor: int = 0) -> Invoice:
    """Return what should be invoiced: quoted and changes less a discount, fees as payments took them."""
    net, _ = agreed(job, discount_minor=discount_minor)
    return Invoice(
        net_minor=net,
        fee_minor=job.payments.aggregate(total=Sum("fee_minor"))["total"] or 0,
        discount_minor=discount_minor,
        extras_minor=job.currency.to_minor(job.option.extras),
    )


def delivery_findings(job: Job) -> list[Finding]:
    """Return what looks unfinished; none of it holds a delivery up."""
    findings = list(forgotten_work(job))
    if job.stage != Stage.FINISHING:
        findings.append(
            warn("delivery.stage", "stage", f"The job stands at {job.get_stage_display().lower()}, not at finishing.")
        )
    undone = neither_ticked_nor_logged(job)
    if undone:
        named = named_text(undone, most=MOST_NAMED)
        findings.append(warn("delivery.undone", "work", f"Neither ticked nor logged: {named}."))
    unlogged = [operation.name for operation in without_time(job.operations.filter(done_at__isnull=False))]
    if unlogged:
        named = named_text(unlogged, most=MOST_NAMED)
        findings.append(
            warn(
                "delivery.unlogged",
                "time",
                f"Done without any time logged: {named}.",
                "Where its time stands with other work nothing is lost; else it counts as planned. Say at the day’s close how "
                "long it took.",
            )
        )
    passes = list(job.seam_passes.filter(done_at__isnull=True))
    if passes and not any(finding.code.startswith("slip.") for finding in findings):
        findings.append(warn("delivery.passes", "seams", f"Not ticked as sewn: {seam_words(passes)}."))
    owed = bill(job)
    if owed.balance_minor > 0:
        due = minor_text(owed.balance_minor, job.currency.code)
        findings.append(warn("delivery.balance", "balance", f"{due} is still to be paid."))
    return findings


def neither_ticked_nor_logged(job: Job) -> list[str]:
    """Return the names of operations of which nobody said that they were done."""
    return [operation.name for operation in without_time(job.operations.filter(done_at__isnull=True))]


@transaction.atomic
def deliver(
    job: Job,
    *,
    invoice: Invoice,
    on: date,
    user: User | None,
    stays_undone: bool = False,
    sure_of: str | None = None,
) -> None:
    """Note a piece as handed over: timers stop, what is still kept for it is free again, its account is worked out.

    Args:
        stays_undone: operations that are neither ticked nor logged were left out; else they count as done.
        sure_of: the yes to what looked unlikely; None where nobody is there to be asked.

    Raises:
        Refused: it is over already, the day is to come, before its start, before time that was logged or in a closed
            month, an amount is below zero, or a discount is more than the price; or what is unlikely and was not
            answered with yes.
    """
    # Before the job, as closing a month locks them, so that none is closed meanwhile.
    Shelf.objects.select_for_update().get(pk=1)
    job = open_job(job.pk)
    must_have_come(on, "delivery.day", "Deliver it on its day.")
    if on < job.started_on:
        raise refuse("delivery.day", "day", f"The job was started on {day_text(job.started_on)}, which is later.")
    must_be_open(on)
    _must_be_after_its_time(job, on)
    amounts = (invoice.net_minor, invoice.fee_minor, invoice.discount_minor, invoice.extras_minor)
    if min(amounts) < 0:
        raise refuse("delivery.amount", "invoice", "No amount of an invoice is less than zero.", "Look at them again.")
    _must_leave_a_price(job, invoice.discount_minor)
    must_be_sure([*_doubts(job, invoice, on=on)], sure_of)
    Job.objects.filter(pk=job.pk).update(
        stage=Stage.DELIVERED,
        delivered_on=on,
        net_minor=invoice.net_minor,
        tax_minor=tax_of(job, invoice.net_minor),
        fee_minor=invoice.fee_minor,
        discount_minor=invoice.discount_minor,
        extras_minor=invoice.extras_minor,
    )
    end_all(job)
    _say_why_unlogged(job, stays_undone=stays_undone)
    end(job.reference, why="Delivered")
    job.refresh_from_db()
    note_down(job, "Delivered.", by=user)
    settle(job)
    logger.info("Delivered job=%s", job.reference)


def _say_why_unlogged(job: Job, *, stays_undone: bool) -> None:
    """Note of each operation without time what is likeliest by how this workroom logs, so that its account can say it."""
    habit = LogHabit.objects.filter(pk=1).first()
    below = (
        habit.elsewhere_below_min
        if habit is not None and TimeEntry.objects.standing().filter(operation__job=job, minutes__gt=0).exists()
        else 0.0
    )
    without = list(without_time(job.operations.all()))
    for operation in without:
        if operation.done_at is None and stays_undone:
            operation.unlogged = Unlogged.UNDONE
        else:
            operation.unlogged = Unlogged.ELSEWHERE if operation.estimated_min < below else Unlogged.MISSING
    JobOperation.objects.bulk_update(without, ["unlogged"])


def _must_leave_a_price(job: Job, discount_minor: int) -> None:
    price, _ = agreed(job)
    if discount_minor > max(0, price):
        whole, given = (minor_text(minor, job.currency.code) for minor in (price, discount_minor))
        raise refuse(
            "delivery.discount",
            "discount",
            f"A discount of {given} is more than the {whole} that was agreed.",
            "Look at the amount.",
        )


def _doubts(job: Job, invoice: Invoice, *, on: date) -> Iterator[Finding]:
    def money(minor: int) -> str:
        return minor_text(minor, job.currency.code)

    net, _ = agreed(job, discount_minor=invoice.discount_minor)
    if invoice.net_minor != net:
        invoiced, sense = money(invoice.net_minor), "more" if invoice.net_minor > net else "less"
        yield doubt("delivery.net", "net", f"{invoiced} is {sense} than the {money(net)} that was agreed.")
    owed = bill(job)
    if invoice.fee_minor > owed.standing.paid_minor:
        fee, paid = money(invoice.fee_minor), money(owed.standing.paid_minor)
        yield doubt("delivery.fee", "fee", f"Fees of {fee} are more than the {paid} that was paid.")
    if invoice.extras_minor > invoice.net_minor:
        yield doubt("delivery.extras", "extras", f"Other costs of {money(invoice.extras_minor)} eat all of the price.")
    if on < timezone.localdate() - timedelta(days=studio_defaults().money.long_ago_days):
        yield doubt("delivery.long-ago", "day", f"{day_text(on)} is long ago.")


def _must_be_after_its_time(job: Job, on: date) -> None:
    """What a piece took is known when its month is closed, so none of it lies after its delivery."""
    stands = TimeEntry.objects.standing().filter(operation__job=job, day__gt=on).exclude(minutes=0)
    last = stands.order_by("-day").first()
    if last is not None:
        raise refuse(
            "delivery.before-time",
            "day",
            f"Time was logged on {day_text(last.day)}, after that day.",
            "Deliver it on that day or later, or correct the time first.",
        )
