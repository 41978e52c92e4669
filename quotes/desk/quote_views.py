"""Quotes: the list, a revision's page, its rates and extras, what less would take."""

from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.forms import formset_factory
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.findings import Refused
from inventory.ground.money import currency_of
from inventory.ground.site.exporting import exported
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.maker import maker
from inventory.ground.site.paging import turn_to_page
from quotes.commission.what_if import ways_to_less
from quotes.defaults import desk_defaults
from quotes.desk.figures import commission_of
from quotes.desk.filters import QuoteFilter
from quotes.desk.finding import get_draft, get_revision
from quotes.desk.moved_prices import moved_quotes
from quotes.desk.moved_prices_page import moved_rows
from quotes.desk.quote_forms import ExtraForm, LessForm
from quotes.desk.quote_page import LessRow, less_rows, quote_page
from quotes.desk.quoting import change_draft, take_newer_pattern
from quotes.desk.tables import QuoteTable
from quotes.models import Quote, QuoteRevision
from quotes.workroom.rate_forms import RatesForm


def listing(request: HttpRequest) -> HttpResponse:
    """All quotes by their latest revision."""
    latest = QuoteRevision.objects.latest_of_each().select_related("quote__client").order_by("-quote__number")
    narrowed = QuoteFilter(request.GET, queryset=latest)
    table = QuoteTable(narrowed.qs, on=timezone.localdate(), empty_text="No quote stands here.")
    turn_to_page(table, request)
    return exported(table, request, name="quotes") or render(
        request, "quotes/desk/list.html", {"filter": narrowed, "table": table}
    )


def latest(request: HttpRequest, pk: int) -> HttpResponse:
    """Go to a quote's latest revision."""
    quote = get_object_or_404(Quote, pk=pk)
    revision = quote.revisions.only("number").latest("number")
    return redirect("quotes:revision", pk, revision.number)


def revision(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """A revision's page: its options side by side."""
    revision = get_revision(request, pk, number)
    others = list(revision.quote.revisions.order_by("-number").values_list("number", "state"))
    page = quote_page(revision, on=timezone.localdate())
    context = {"page": page, "revision": revision, "others": others}
    return render(request, "quotes/desk/revision.html", context)


@require_http_methods(["GET", "POST"])
def rates(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The rates of this quote alone."""
    revision = get_draft(request, pk, number)
    currency = currency_of(revision.inputs["currency"])
    form = RatesForm(request.POST or None, rates=revision.inputs["rates"], currency=currency)
    if form.is_valid() and _changed(request, revision, form, lambda inputs: {**inputs, "rates": form.rates}):
        return redirect("quotes:revision", pk, number)
    context = {"form": form, "revision": revision, "heading": "Rates of this quote"}
    return render(request, "quotes/desk/rates.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def extras(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Direct costs beside the takeoff."""
    revision = get_draft(request, pk, number)
    currency = currency_of(revision.inputs["currency"])
    Extras = formset_factory(ExtraForm, extra=2, max_num=30)
    initial = [{"what": extra["what"], "amount": Decimal(extra["amount"])} for extra in revision.inputs["extras"]]
    forms = Extras(request.POST or None, initial=initial, form_kwargs={"currency": currency})
    if forms.is_valid():
        kept = [
            {"what": form.cleaned_data["what"], "amount": f"{form.cleaned_data['amount']:f}"}
            for form in forms
            if form.cleaned_data.get("what")
        ]
        if _changed(request, revision, forms.forms[0], lambda inputs: {**inputs, "extras": kept}):
            return redirect("quotes:revision", pk, number)
    context = {"forms": forms, "revision": revision}
    return render(request, "quotes/desk/extras.html", context, status=422 if forms.is_bound else 200)


def less(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """What would reach a lower price."""
    revision = get_draft(request, pk, number)
    form = LessForm(request.GET or {"share": str(desk_defaults().quote.less_percent)})
    ways: list[LessRow] = []
    if form.is_valid():
        commission = commission_of(revision.inputs, revision.pattern)
        ways = less_rows(ways_to_less(commission, form.cleaned_data["share"]), commission.currency.code)
    return render(request, "quotes/desk/less.html", {"form": form, "revision": revision, "ways": ways})


def moved(request: HttpRequest) -> HttpResponse:
    """Quotes whose materials' prices have moved."""
    today = timezone.localdate()
    return render(request, "quotes/desk/moved.html", {"quotes": moved_rows(moved_quotes(on=today), on=today)})


@require_POST
def newer_pattern(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Make the draft from the newest revision of its pattern."""
    revision = get_draft(request, pk, number)
    try:
        take_newer_pattern(revision, user=maker(request))
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "Worked out anew from the pattern as it is now.")
    return redirect("quotes:revision", pk, number)


def _changed(request: HttpRequest, revision: QuoteRevision, form: Any, change: Any) -> bool:
    """Change a draft, or put the refusal on the form."""
    with RefusalsOn(form):
        change_draft(revision=revision, change=change, user=maker(request))
        return True
    return False
