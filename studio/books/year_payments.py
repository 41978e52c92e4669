"""What payments of a year took outside the accounts of pieces: money paid back on an invoice; fees and lower prices that came
late.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from typing import NamedTuple

from django.db.models import F

from inventory.ground.money import Currency, nearest
from studio.models import Credit, Job, Payment
from studio.profit.refunds import Paid, losses_by_refunds
from studio.profit.year import About, Row

__all__ = ["late_credits", "late_fees", "refunds"]


class _Payment(NamedTuple):
    number: int
    what: str
    amount_minor: int
    day: date
    job: int
    reference: str
    title: str
    delivered_on: date
    net_minor: int
    tax_minor: int


_COLUMNS = (
    *("number", "what", "amount_minor", "day", "job", "job__reference", "job__title"),
    *("job__delivered_on", "job__net_minor", "job__tax_minor"),
)


def refunds(first: date, last: date, money: Currency) -> Iterator[Row]:
    """What went back to clients of delivered pieces beyond what they had paid too much, without tax."""
    went_back = Payment.objects.filter(what=Payment.What.REFUND, day__lte=last, day__gte=F("job__delivered_on"))
    delivered = Payment.objects.filter(
        job__in=went_back.values("job"), job__stage=Job.Stage.DELIVERED, job__revision__currency=money.code
    )
    by_job: dict[int, list[_Payment]] = defaultdict(list)
    for columns in delivered.order_by("job", "day", "pk").values_list(*_COLUMNS):
        payment = _Payment(*columns)
        by_job[payment.job].append(payment)
    credits: dict[int, list[tuple[date, Paid]]] = defaultdict(list)
    for job, day, net, tax in Credit.objects.filter(job__in=by_job).values_list("job", "day", "net_minor", "tax_minor"):
        credits[job].append((day, Paid(credited_minor=net + tax)))
    for job, payments in by_job.items():
        yield from _of_piece(payments, credits[job], first, last, money)


def _of_piece(
    payments: Sequence[_Payment], credits: Sequence[tuple[date, Paid]], first: date, last: date, money: Currency
) -> Iterator[Row]:
    piece = payments[0]
    net, total, name = piece.net_minor, piece.net_minor + piece.tax_minor, f"{piece.reference}, {piece.title}"
    # On one day a price is lowered before what was paid too much by it goes back.
    acts = [(day, credit, "") for day, credit in credits]
    acts += [(payment.day, _paid(payment), f"{payment.number}") for payment in payments]
    acts.sort(key=lambda act: act[0])
    losses = losses_by_refunds(total, [act for _, act, _ in acts])
    for (day, _, receipt), loss in zip(acts, losses, strict=True):
        if loss and first <= day <= last:
            # A price that is lowered lowers its tax with it. Where nothing was invoiced, no tax was either.
            amount = money.from_minor(-nearest(loss * net, total) if total > 0 else -loss)
            if receipt:
                yield Row(about=About.REFUND, amount=amount, what=name, key=receipt, day=day)
            else:
                yield Row(about=About.MADE_GOOD, amount=amount, what=name, key=piece.reference, day=day)


def _paid(payment: _Payment) -> Paid:
    went_back = payment.what == Payment.What.REFUND and payment.amount_minor < 0
    return Paid(amount_minor=payment.amount_minor, is_refund=went_back and payment.day >= payment.delivered_on)


def late_fees(first: date, last: date, money: Currency) -> Iterator[Row]:
    """Fees of payments that came after their piece's month was closed."""
    late = Payment.objects.filter(job__account__frozen_at__lt=F("noted_at"), day__range=(first, last)).exclude(
        fee_minor=0
    )
    for number, fee, day, reference, title in late.order_by("pk").values_list(
        "number", "fee_minor", "day", "job__reference", "job__title"
    ):
        amount = money.from_minor(-fee)
        yield Row(about=About.FEE, amount=amount, what=f"{reference}, {title}", key=f"{number}", day=day)


def late_credits(first: date, last: date, money: Currency) -> Iterator[Row]:
    """What prices were lowered by after their piece's month was closed, without tax."""
    late = Credit.objects.filter(job__account__frozen_at__lt=F("noted_at"), day__range=(first, last)).order_by("pk")
    for net, day, reference, title in late.values_list("net_minor", "day", "job__reference", "job__title"):
        amount = money.from_minor(-net)
        yield Row(about=About.LATE_CREDIT, amount=amount, what=f"{reference}, {title}", key=reference, day=day)
