"""Finished pieces for tests of the books: a quote accepted, made, timed and delivered by the use cases themselves."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from django.contrib.auth.models import User
from django.utils import timezone

from inventory.models import Lot, StockItem
from inventory.stock import ledger
from inventory.stock.ledger import Act, Arrival, receive
from quotes.desk.quoting import accept, offer_of_today, send, start_quote
from quotes.models import Client, PatternRevision, QuoteRevision
from quotes.seal.snapshot import offer_fingerprint
from studio.bench.job_making import make_job
from studio.bench.job_materials import planned_lines
from studio.bench.timing import write_down
from studio.client.delivery import Invoice, deliver, expected_invoice
from studio.models import Job, JobOperation

__all__ = ["agreed", "finished", "month_before", "operation", "today", "worked"]

OPTION = {
    "name": "Two layers",
    "construction": "two-layer",
    "cloths": {"outer": "coutil-satin-bottle", "inner": "coutil-white"},
    "choices": {},
}


def today() -> date:
    return timezone.localdate()


def month_before(day: date, months: int = 1) -> date:
    """The twelfth of the month so many months before a day's."""
    for _ in range(months):
        day = day.replace(day=1) - timedelta(days=1)
    return day.replace(day=12)


def agreed(
    pattern: PatternRevision, user: User, *, client: str = "Odile Farrant", title: str = "Underbust"
) -> QuoteRevision:
    """A quote that the client accepted."""
    known = Client.objects.filter(name=client).first() or Client(name=client)
    draft = start_quote(client=known, title=title, due=None, pattern=pattern, options=[OPTION], user=user)
    seen = offer_fingerprint(offer_of_today(draft))
    out = send(revision=draft, valid_until=today() + timedelta(days=9), seen=seen, user=user)
    return accept(revision=out, option=OPTION["name"], user=user)


def finished(revision: QuoteRevision, user: User, *, on: date, speed: float = 1.0, **said: Any) -> Job:
    """The piece of a quote: all its materials issued as planned, each operation timed, delivered on a day.

    Args:
        speed: time taken as a share of what was planned; 0 for none written down.
        said: figures of the invoice that are other than expected.
    """
    job = make_job(revision, user=user, on=on)
    for line in planned_lines(job):
        lot = _lot(line.item, 2 * line.quantity, on)
        act = Act(key=uuid4(), by=user, day=on)
        ledger.issue(act, lot=lot, quantity=line.quantity, job=job.reference, line=line)
    for row in job.operations.all() if speed else ():
        worked(row, user, round(row.planned_min * speed), on=on)
    invoice = expected_invoice(job)
    facts = {name: getattr(invoice, name) for name in Invoice.__dataclass_fields__}
    deliver(job, invoice=Invoice(**{**facts, **said}), on=on, user=user)
    job.refresh_from_db()
    return job


def worked(row: JobOperation, user: User, minutes: int, *, on: date, cause: str = "") -> None:
    """Time written down at an operation of an open job."""
    write_down(row, user=user, key=uuid4(), day=on, minutes=minutes, cause=cause)


def operation(job: Job, code: str) -> JobOperation:
    return job.operations.get(code=code)


def _lot(item: StockItem, quantity: int, on: date) -> Lot:
    """A lot at what the price list says."""
    worth = item.price_minor(quantity, "EUR")
    arrival = Arrival(item=item, quantity=quantity, value_minor=worth)
    return receive(Act(key=uuid4(), by=None, day=on), [arrival]).movements.get().lot
