"""Open money: what is to be collected, what is held, what came in by month; payments one by one."""

from dataclasses import dataclass
from typing import Any

import django_filters as filters
from django import forms
from django.db.models import Q, QuerySet, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from inventory.ground.money import Currency
from inventory.ground.site.exporting import exported
from inventory.ground.site.paging import turn_to_page
from inventory.ground.wording import minor_text
from inventory.shelf.settings import studio_currency
from studio.books.money_tables import DueTable, HeldTable, KeptTable, MonthMoneyTable, PaymentTable, TooMuchTable
from studio.books.tables import PER_PAGE
from studio.models import Job, Payment
from studio.money.bills import open_jobs
from studio.money.months import money_by_month

_DAY = {"widget": forms.DateInput(attrs={"type": "date"}), "field_name": "day"}


class PaymentFilter(filters.FilterSet):
    """By day, client and piece."""

    since = filters.DateFilter(lookup_expr="gte", label="From", **_DAY)
    until = filters.DateFilter(lookup_expr="lte", label="Until", **_DAY)
    word = filters.CharFilter(method="by_word", label="Client or piece", max_length=60)

    class Meta:
        model = Payment
        fields: list[str] = []

    def by_word(self, payments: QuerySet[Payment], name: str, value: str) -> QuerySet[Payment]:
        """Payments whose client, title or number holds the word."""
        of = Q(job__client__name__icontains=value) | Q(job__title__icontains=value) | Q(job__reference__iexact=value)
        return payments.filter(of)


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """What stands below a list of payments."""

    amount_minor: int
    fee_minor: int


def money(request: HttpRequest) -> HttpResponse:
    """What is open, and what came in."""
    currency, today = studio_currency(), timezone.localdate()
    jobs = open_jobs(Job.objects.all())
    ours = [job for job in jobs if job.currency == currency.code]
    months = money_by_month(currency=currency.code)
    common: dict[str, Any] = {"currency": currency, "on": today}
    lists: dict[str, Any] = {
        "due": DueTable(
            [job for job in ours if job.due_minor], prefix="due-", empty_text="Nothing is to be collected.", **common
        ),
        "held": HeldTable(
            [job for job in ours if job.held_minor], prefix="held-", empty_text="Nothing is held.", **common
        ),
        "too-much": TooMuchTable([job for job in ours if job.too_much_minor], prefix="too-much-", **common),
        "kept": KeptTable([job for job in ours if job.kept_of_cancelled_minor], prefix="kept-", **common),
        "months": MonthMoneyTable(months, currency=currency, prefix="months-", empty_text="No payment was noted yet."),
    }
    for table in lists.values():
        turn_to_page(table, request, per_page=PER_PAGE)
    asked = request.GET.get("list", "")
    asked = asked if asked in lists else "due"
    if (answer := exported(lists[asked], request, name=f"money-{asked}")) is not None:
        return answer
    context = {
        "figures": _figures(lists, currency),
        "sections": [(key, heading, hint, lists[key]) for key, heading, hint in _SECTIONS if key in lists],
        "others": len(jobs) - len(ours),
    }
    return render(request, "studio/books/money.html", context)


_SECTIONS = (
    ("due", "To collect", "Price is what was invoiced less what was let go since, with tax."),
    ("held", "Held for pieces that are not delivered", "Paid ahead: it counts towards the price on delivery."),
    ("too-much", "Paid too much", "Pay it back, or note what it was for."),
    (
        "kept",
        "Kept of cancelled pieces",
        "The year counts it as yours, without tax. Where more was agreed to go back, note it as money back.",
    ),
    ("months", "Came in by month", "What came less what went back, by the day of each payment; a month opens them."),
)


def _figures(lists: dict[str, Any], currency: Currency) -> list[tuple[str, str, str, str]]:
    """What stands on top: what, how much, how it is made, where its rows stand."""

    def total(key: str, name: str) -> str:
        return minor_text(getattr(lists[key].together, name), currency.code)

    found = [
        ("To collect", total("due", "due_minor"), "Delivered pieces: price − paid.", "due"),
        (
            "Held",
            total("held", "held_minor"),
            "Paid for pieces that are still to be delivered, less what went back.",
            "held",
        ),
    ]
    if lists["too-much"].together.rows:
        words = "Delivered pieces of which more was paid than they cost."
        found.append(("Paid too much", total("too-much", "too_much_minor"), words, "too-much"))
    if lists["kept"].together.rows:
        words = "Paid for pieces that were cancelled, less what went back."
        found.append(("Kept of cancelled", total("kept", "kept_of_cancelled_minor"), words, "kept"))
    if lists["months"].together.rows:
        words = "All payments less what went back, in all months."
        found.append(("Came in", total("months", "kept_minor"), words, "months"))
    return found


def payments(request: HttpRequest) -> HttpResponse:
    """Payments one by one."""
    currency = studio_currency()
    rows = Payment.objects.filter(job__revision__currency=currency.code).select_related("job__client")
    narrowed = PaymentFilter(request.GET, queryset=rows.order_by("-day", "-number"))
    sums = narrowed.qs.order_by().aggregate(amount=Sum("amount_minor"), fee=Sum("fee_minor"))
    together = Together(amount_minor=sums["amount"] or 0, fee_minor=sums["fee"] or 0)
    table = PaymentTable(narrowed.qs, currency=currency, together=together, empty_text="No payment stands here.")
    turn_to_page(table, request, per_page=PER_PAGE)
    context = {"filter": narrowed, "table": table}
    return exported(table, request, name="payments") or render(request, "studio/books/payments.html", context)
