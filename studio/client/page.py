"""What passes between maker and client: fittings, changes, the bill, payments, photographs."""

from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from inventory.ground.wording import day_text, minor_text, minutes_text
from studio.client.payments import bill
from studio.jobs.wording import moment_text
from studio.models import ChangeOrder, Fitting, Job, JobPhoto, Payment

__all__ = ["ClientPage", "client_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientPage:
    """All of it, amounts and days as text."""

    fittings: list[tuple[Fitting, str, bool]]  # when, whether its day has passed without a word
    changes: list[tuple[ChangeOrder, str, str, str]]
    bill: list[tuple[str, str, str]]  # what, how much, where it comes from
    payments: list[tuple[Payment, str, str, str]]
    photos: list[JobPhoto]


def client_page(job: Job, *, on: date) -> ClientPage:
    """Return the page as it stands on a day."""

    def money(minor: int) -> str:
        return minor_text(minor, job.currency.code)

    owed = bill(job)
    source = "As invoiced" if job.net_minor is not None else "As quoted, with the changes agreed since"
    bill_lines = [
        (
            "Price with tax",
            money(owed.total_minor),
            f"{source}: {money(owed.net_minor)} and {money(owed.tax_minor)} tax.",
        ),
        ("Paid", money(owed.paid_minor), "All payments below, less what went back."),
    ]
    # Before the cloth is cut a piece waits for its deposit; what is not made is not owed.
    if owed.deposit_due_minor and job.is_open:
        words = f"{money(owed.deposit_minor)} before the cloth is cut, less what was paid."
        bill_lines.append(("Deposit due", money(owed.deposit_due_minor), words))
    if job.stage != Job.Stage.CANCELLED:
        words = "Balance due" if owed.balance_minor >= 0 else "Paid too much"
        formula = f"{money(owed.total_minor)} − {money(owed.paid_minor)}"
        bill_lines.append((words, money(abs(owed.balance_minor)), formula))
    return ClientPage(
        fittings=[
            (
                fitting,
                moment_text(fitting.at),
                job.is_open and fitting.held_on is None and timezone.localdate(fitting.at) < on,
            )
            for fitting in job.fittings.all()
        ],
        changes=[
            (
                change,
                money(change.net_minor),
                day_text(change.agreed_on),
                minutes_text(change.minutes) if change.minutes else "",
            )
            for change in job.changes.all()
        ],
        bill=bill_lines,
        payments=[
            (
                payment,
                money(payment.amount_minor),
                day_text(payment.day),
                money(payment.fee_minor) if payment.fee_minor else "",
            )
            for payment in job.payments.all()
        ],
        photos=list(job.photos.order_by("pk")) if job.client.may_photograph else [],
    )
