"""Proof that the money says the same wherever it is asked: every figure rebuilt from the rows, one by one."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any

from django.db.models import F

from inventory.stock.audit import Audit, Difference
from studio.models import Credit, Job, Payment, PieceAccount
from studio.money.bills import open_jobs, standings
from studio.money.months import money_by_month
from studio.money.standing import Standing

__all__ = ["audit_money"]

_OPEN = ("due", "too much", "held", "kept of cancelled")


def audit_money() -> Audit:
    """Return how invoices, credits, payments, accounts and months agree."""
    payments = list(Payment.objects.select_related("reverses").annotate(currency=F("job__revision__currency")))
    credits = list(Credit.objects.select_related("reverses"))
    jobs = list(Job.objects.order_by("pk").only("reference", "stage", "net_minor", "tax_minor"))
    return Audit(
        checked={"payments": len(payments), "credits": len(credits)},
        differences=(
            *_reversals(payments, credits),
            *_standings(jobs, payments, credits),
            *_accounts(credits),
            *_months(payments),
        ),
    )


def _reversals(payments: Iterable[Payment], credits: Iterable[Credit]) -> Iterator[Difference]:
    """Each reversal says the opposite of one row of the same job."""
    for payment in payments:
        if (slip := payment.reverses) is not None:
            expected = (slip.job_id, slip.what, -slip.amount_minor, -slip.fee_minor)
            found = (payment.job_id, payment.what, payment.amount_minor, payment.fee_minor)
            if found != expected:
                yield _difference("studio_payment", payment.number, expected, found)
        elif (payment.amount_minor < 0) != (payment.what == Payment.What.REFUND):
            yield _difference("studio_payment", payment.number, "the sign of its kind", payment.amount_minor)
    for credit in credits:
        if (lower := credit.reverses) is not None:
            expected_credit = (lower.job_id, -lower.net_minor, -lower.tax_minor)
            found_credit = (credit.job_id, credit.net_minor, credit.tax_minor)
            if found_credit != expected_credit:
                yield _difference("studio_credit", credit.pk, expected_credit, found_credit)


def _standings(jobs: Iterable[Job], payments: Iterable[Payment], credits: Iterable[Credit]) -> Iterator[Difference]:
    """What pages say of a job, against its rows added up here, and within what can be."""
    kept, net, tax = (defaultdict[int, int](int) for _ in range(3))
    for payment in payments:
        kept[payment.job_id] += payment.amount_minor
    for credit in credits:
        net[credit.job_id] += credit.net_minor
        tax[credit.job_id] += credit.tax_minor
    found = standings(job.pk for job in jobs)
    listed = {row.pk: row for row in open_jobs(Job.objects.all())}
    for job in jobs:
        stands = found[job.pk]
        is_delivered = job.stage == Job.Stage.DELIVERED
        invoiced = (job.net_minor or 0) + (job.tax_minor or 0) if is_delivered else 0
        owed = invoiced - net[job.pk] - tax[job.pk] - kept[job.pk] if is_delivered else 0
        expected = {
            "kept": kept[job.pk],
            "due": max(0, owed),
            "too much": max(0, -owed),
            "held": kept[job.pk] if job.is_open else 0,
            "kept of cancelled": kept[job.pk] if job.stage == Job.Stage.CANCELLED else 0,
        }
        for name, amount in expected.items():
            said = _figures(stands)[name]
            if said != amount:
                yield _difference("studio_job", job.reference, f"{name} {amount}", said)
        on_list = listed.get(job.pk)
        if (on_list is None) == any(expected[name] for name in _OPEN):
            yield _difference("studio_job", job.reference, "a place among open money where some is open", on_list)
        elif on_list is not None and on_list.standing != stands:
            yield _difference("studio_job", job.reference, stands, on_list.standing)
        if stands.refunded_minor > stands.paid_minor or min(stands.net_minor, stands.tax_minor) < 0:
            yield _difference("studio_job", job.reference, "no more back or off than came or was invoiced", stands)


def _figures(stands: Standing) -> dict[str, int]:
    return {
        "kept": stands.kept_minor,
        "due": stands.due_minor,
        "too much": stands.too_much_minor,
        "held": stands.held_minor,
        "kept of cancelled": stands.kept_of_cancelled_minor,
    }


def _accounts(credits: Iterable[Credit]) -> Iterator[Difference]:
    """A piece's account is of its invoice less the credits that it could know of."""
    by_job: dict[int, list[Credit]] = defaultdict(list)
    for credit in credits:
        by_job[credit.job_id].append(credit)
    accounts = PieceAccount.objects.filter(job__in=list(by_job))
    for pk, frozen_at, net, invoiced in accounts.values_list("job", "frozen_at", "net_minor", "job__net_minor"):
        known = sum(credit.net_minor for credit in by_job[pk] if frozen_at is None or credit.noted_at <= frozen_at)
        expected = (invoiced or 0) - known
        if net != expected:
            yield _difference("studio_pieceaccount", pk, f"net {expected}", net)


def _months(payments: Iterable[Any]) -> Iterator[Difference]:
    """What came in by month, against the payments added up here."""
    expected: dict[tuple[str, str], int] = defaultdict(int)
    for payment in payments:
        expected[payment.currency, f"{payment.day:%Y-%m}"] += payment.amount_minor
    for currency in {code for code, _ in expected}:
        said = {f"{month.first_day:%Y-%m}": month.kept_minor for month in money_by_month(currency=currency)}
        for (code, month), amount in expected.items():
            if code == currency and said.get(month) != amount:
                yield _difference("studio_payment", month, amount, said.get(month))


def _difference(table: str, row: object, expected: object, found: object) -> Difference:
    return Difference(table=table, row=str(row), expected=str(expected), found=str(found))
