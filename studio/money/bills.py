"""How the money of pieces stands, gathered from invoices, credits and payments."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import BigIntegerField, F, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce

from studio.models import Credit, Job, Payment
from studio.money.standing import Bill, Phase, Standing, tax_of_invoice

__all__ = ["OpenJob", "agreed", "bill", "open_jobs", "standing", "standings", "tax_of"]

_REFUND = Q(what=Payment.What.REFUND)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenJob:
    """A piece with open money: something is due, held, was paid too much, or stays of it though it was cancelled."""

    pk: int
    reference: str
    title: str
    client: str
    client_id: int
    stage: str
    since: date
    currency: str
    standing: Standing

    def __str__(self) -> str:
        return f"{self.reference}, {self.title}"

    @property
    def due_minor(self) -> int:
        """What is to be collected."""
        return self.standing.due_minor

    @property
    def held_minor(self) -> int:
        """What is held of it."""
        return self.standing.held_minor

    @property
    def kept_of_cancelled_minor(self) -> int:
        """What stays with the maker of a piece that is not made."""
        return self.standing.kept_of_cancelled_minor

    @property
    def too_much_minor(self) -> int:
        """What is to go back."""
        return self.standing.too_much_minor


def bill(job: Job) -> Bill:
    """Return what is owed for a job and what was paid."""
    stands = standing(job)
    if job.net_minor is not None and job.tax_minor is not None:
        net, tax = job.net_minor, job.tax_minor
    else:
        net, tax = agreed(job)
    return Bill(
        standing=stands,
        agreed_net_minor=net,
        agreed_tax_minor=tax,
        deposit_minor=job.currency.to_minor(job.option.deposit[0]),
    )


def agreed(job: Job, *, discount_minor: int = 0) -> tuple[int, int]:
    """Return net and tax of what was quoted and changed since, less a discount, in minor units."""
    changed = job.changes.aggregate(total=Sum("net_minor"))["total"] or 0
    net = job.currency.to_minor(job.option.net) + changed - discount_minor
    return net, tax_of(job, net)


def tax_of(job: Job, net_minor: int) -> int:
    """Return the tax on what a job is invoiced, by the rate and the rounding of its sealed quote."""
    money, option = job.currency, job.option
    return tax_of_invoice(
        net_minor,
        quoted_net=money.to_minor(option.net),
        quoted_tax=money.to_minor(option.tax),
        rates=job.revision.snapshot.rates,
        currency=money,
    )


def standing(job: Job) -> Standing:
    """Return how the money of one job stands."""
    return standings([job.pk])[job.pk]


def standings(jobs: Iterable[int]) -> dict[int, Standing]:
    """Return how the money of jobs stands, by id: one query."""
    return {row["pk"]: _standing(row) for row in _rows(Job.objects.filter(pk__in=list(jobs)))}


def open_jobs(jobs: QuerySet[Job]) -> list[OpenJob]:
    """Return those jobs whose money is open, the oldest first: one query.

    What is due is open since the delivery; what is held, since the job began; what stays of cancelled work, since it was
    cancelled.
    """
    rows = _rows(
        jobs,
        *("reference", "title", "client_id", "started_on", "cancelled_on"),
        client_name=F("client__name"),
        currency=F("revision__currency"),
    )
    found = [
        OpenJob(
            pk=row["pk"],
            reference=row["reference"],
            title=row["title"],
            client=row["client_name"],
            client_id=row["client_id"],
            stage=row["stage"],
            since=row["delivered_on"] or row["cancelled_on"] or row["started_on"],
            currency=row["currency"],
            standing=_standing(row),
        )
        for row in rows
    ]
    is_open = [
        job for job in found if job.due_minor or job.held_minor or job.too_much_minor or job.kept_of_cancelled_minor
    ]
    return sorted(is_open, key=lambda job: (job.since, job.pk))


def _rows(jobs: QuerySet[Job], *columns: str, **named: Any) -> Iterable[Mapping[str, Any]]:
    payments = Payment.objects.filter(job=OuterRef("pk")).exclude(_REFUND)
    back = Payment.objects.filter(_REFUND, job=OuterRef("pk"))
    credits = Credit.objects.filter(job=OuterRef("pk"))
    sums = {
        "paid": _sum(payments, "amount_minor"),
        "back": _sum(back, "amount_minor"),
        "credited_net": _sum(credits, "net_minor"),
        "credited_tax": _sum(credits, "tax_minor"),
    }
    figures = ("pk", "stage", "delivered_on", "net_minor", "tax_minor")
    rows: Iterable[Mapping[str, Any]] = jobs.order_by().values(*figures, *columns, **named, **sums)
    return rows


def _sum(rows: QuerySet[Any], column: str) -> Coalesce:
    total = rows.order_by().values("job").annotate(total=Sum(column)).values("total")
    return Coalesce(Subquery(total), 0, output_field=BigIntegerField())


def _standing(row: Mapping[str, Any]) -> Standing:
    phases = {Job.Stage.DELIVERED: Phase.INVOICED, Job.Stage.CANCELLED: Phase.CANCELLED}
    phase = phases.get(row["stage"], Phase.OPEN)
    is_invoiced = phase is Phase.INVOICED
    return Standing(
        phase=phase,
        invoiced_net_minor=row["net_minor"] if is_invoiced else 0,
        invoiced_tax_minor=row["tax_minor"] if is_invoiced else 0,
        credited_net_minor=row["credited_net"],
        credited_tax_minor=row["credited_tax"],
        paid_minor=row["paid"],
        refunded_minor=-row["back"],
    )
