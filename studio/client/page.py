"""What passes between maker and client: fittings, changes, the bill, payments, photographs."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from inventory.ground.wording import day_text, minor_text, minutes_text
from studio.jobs.wording import moment_text
from studio.models import ChangeOrder, Credit, Fitting, Job, JobPhoto, Payment
from studio.money.bills import bill
from studio.money.standing import Bill
from studio.money.wording import since_text

__all__ = ["ClientPage", "CreditRow", "PaymentRow", "client_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PaymentRow:
    """A payment in words; `reversed_by` is what takes it back, `reverses` what it takes back: the other's name."""

    payment: Payment
    what: str
    amount: str
    day: str
    fee: str
    reverses: str
    reversed_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CreditRow:
    """A lower price in words."""

    credit: Credit
    amount: str
    parts: str
    day: str
    is_reversal: bool
    is_reversed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ClientPage:
    """All of it, amounts and days as text."""

    fittings: list[tuple[Fitting, str, bool]]  # when, whether its day has passed without a word
    changes: list[tuple[ChangeOrder, str, str, str]]
    bill: list[tuple[str, str, str]]  # what, how much, where it comes from
    to_collect: str  # what is due of a delivered piece, and since when; empty for nothing
    payments: list[PaymentRow]
    credits: list[CreditRow]
    photos: list[JobPhoto]


def client_page(job: Job, *, on: date) -> ClientPage:
    """Return the page as it stands on a day."""

    def money(minor: int) -> str:
        return minor_text(minor, job.currency.code)

    owed = bill(job)
    credits = list(job.credits.select_related("reverses"))
    payments = list(job.payments.select_related("reverses", "reversed_by"))
    taken_back = {credit.reverses_id for credit in credits}
    due = owed.standing.due_minor
    to_collect = f"To collect: {money(due)}, {since_text(job.delivered_on, on=on)}." if due and job.delivered_on else ""
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
        bill=_bill_lines(job, owed, money),
        to_collect=to_collect,
        payments=[_payment_row(payment, money) for payment in payments],
        credits=[
            CreditRow(
                credit=credit,
                amount=money(-credit.amount_minor),
                parts=f"{money(abs(credit.net_minor))} and {money(abs(credit.tax_minor))} tax",
                day=day_text(credit.day),
                is_reversal=credit.reverses_id is not None,
                is_reversed=credit.pk in taken_back,
            )
            for credit in credits
        ],
        photos=list(job.photos.order_by("pk")) if job.client.may_photograph else [],
    )


def _bill_lines(job: Job, owed: Bill, money: Callable[[int], str]) -> list[tuple[str, str, str]]:
    stands = owed.standing
    source = "As invoiced" if job.net_minor is not None else "As quoted, with the changes agreed since"
    parts = f"{source}: {money(owed.agreed_net_minor)} and {money(owed.agreed_tax_minor)} tax."
    lines = [("Price with tax", money(owed.agreed_minor), parts)]
    if stands.credited_minor:
        words = (
            f"Given after the invoice: {money(stands.credited_net_minor)} and {money(stands.credited_tax_minor)} tax."
        )
        lines.append(("Lower price", money(-stands.credited_minor), words))
    formula = f"{money(stands.paid_minor)} came, {money(stands.refunded_minor)} went back; what was reversed counts in neither."
    lines.append(("Paid", money(stands.kept_minor), formula))
    # Before the cloth is cut a piece waits for its deposit; what is not made is not owed.
    if owed.deposit_due_minor and job.is_open:
        words = f"{money(owed.deposit_minor)} before the cloth is cut, less what was paid."
        lines.append(("Deposit due", money(owed.deposit_due_minor), words))
    if job.stage != Job.Stage.CANCELLED:
        words = "Balance due" if owed.balance_minor >= 0 else "Paid too much"
        formula = f"{money(owed.total_minor)} − {money(owed.kept_minor)}"
        lines.append((words, money(abs(owed.balance_minor)), formula))
    elif stands.kept_of_cancelled_minor:
        words = "What came and did not go back of a piece that is not made. The year counts it as yours, without tax."
        lines.append(("Kept", money(stands.kept_of_cancelled_minor), words))
    return lines


def _payment_row(payment: Payment, money: Callable[[int], str]) -> PaymentRow:
    reversal = getattr(payment, "reversed_by", None)
    return PaymentRow(
        payment=payment,
        what=payment.get_what_display().lower(),
        amount=money(payment.amount_minor),
        day=day_text(payment.day),
        fee=money(payment.fee_minor) if payment.fee_minor else "",
        reverses=str(payment.reverses) if payment.reverses else "",
        reversed_by=str(reversal) if reversal else "",
    )
