"""The books: what finished pieces earned, one by one and together, and months that are closed."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.days import EARLIEST
from inventory.ground.findings import Refused
from inventory.ground.site.downloads import download
from inventory.ground.site.exporting import exported
from inventory.ground.site.findings_form import add_refusal
from inventory.ground.site.paging import turn_to_page
from inventory.shelf.acting import counts_once
from inventory.shelf.settings import studio_currency
from studio.accounts.accounting import settle
from studio.books.account_page import account_page
from studio.books.filters import DaysFilter, PieceFilter
from studio.books.forms import MonthForm, ReopenForm
from studio.books.months import (
    close_month,
    last_closed,
    last_day,
    month_start,
    months,
    next_to_close,
    reopen_month,
)
from studio.books.page import band_rows, figures, months_page, ranked
from studio.books.sums import KEYS, accounts, books_of, outcomes, pieces_of, with_margin
from studio.books.tables import PER_PAGE, PieceTable, SumsTable
from studio.books.year import result_of_year
from studio.books.year_page import year_page
from studio.books.year_table import YEAR_HEADER, year_sheet
from studio.jobs.finding import did, maker
from studio.models import PieceAccount
from studio.profit.profit_workbook import profit_workbook
from studio.profit.totals import Outcome, total, totals_by, win_rates

YEAR_DIGITS = 4
_HEADINGS = {"style": "Style", "construction": "Construction", "client": "Client", "month": "Month"}


def listing(request: HttpRequest) -> HttpResponse:
    """All finished pieces with what they earned, and what they come to."""
    narrowed = PieceFilter(request.GET, queryset=accounts())
    money, pieces = studio_currency(), pieces_of(narrowed.qs)
    together = total(pieces)
    table = PieceTable(
        with_margin(narrowed.qs),
        currency=money,
        together=together,
        empty_text="No finished piece stands here.",
    )
    if "export" in request.GET:
        for name in PieceTable.FOR_SPREADSHEETS:
            table.columns.show(name)
    turn_to_page(table, request, per_page=PER_PAGE)
    if (answer := exported(table, request, name="pieces")) is not None:
        return answer
    today = timezone.localdate()
    year = result_of_year(today.year, on=today)
    context = {
        "filter": narrowed,
        "table": table,
        "year": None if year.is_empty else year_page(today.year, year, on=today),
        "figures": figures(together, money) if together.pieces else [],
        "ranked": ranked(pieces, money),
        "has_pieces": bool(together.pieces) or accounts().exists(),
    }
    return render(request, "studio/books/books.html", context)


def workbook(request: HttpRequest) -> HttpResponse:
    """The pieces as they are narrowed, with their bridges, as a workbook that goes on working."""
    narrowed = PieceFilter(request.GET, queryset=PieceAccount.objects.all())
    days = _asked(narrowed)
    today = timezone.localdate()
    decided, years = [], {}
    # Of all that pieces are narrowed by, quotes and years have a day alone.
    if days.keys() <= DaysFilter.base_filters.keys():
        decided = _decided(days)
        year = min(days.get("until", today), today).year
        years[f"Year {year}"] = (YEAR_HEADER, year_sheet(result_of_year(year, on=today)))
    book = profit_workbook(books_of(narrowed.qs, decided=decided), besides=years)
    return download(book, f"profit-{today:%Y-%m-%d}.xlsx")


def by(request: HttpRequest, key: str) -> HttpResponse:
    """Pieces put together by what they share; quotes by their price."""
    if key == "price":
        return _by_price(request)
    if key not in KEYS:
        raise Http404
    narrowed = DaysFilter(request.GET, queryset=accounts())
    pieces = pieces_of(narrowed.qs)
    table = SumsTable(
        totals_by(pieces, *KEYS[key]),
        currency=studio_currency(),
        together=total(pieces),
        heading=_HEADINGS[key],
        words=_words(key),
        way=_way(key, request),
        empty_text="No finished piece stands here.",
    )
    turn_to_page(table, request, per_page=PER_PAGE)
    context = {"filter": narrowed, "table": table, "key": key, "heading": _HEADINGS[key].lower()}
    return exported(table, request, name=f"pieces-by-{key}") or render(request, "studio/books/books_by.html", context)


def _by_price(request: HttpRequest) -> HttpResponse:
    """How many quotes were won at which price."""
    narrowed = DaysFilter(request.GET, queryset=PieceAccount.objects.none())
    money, decided = studio_currency(), _decided(_asked(narrowed))
    context = {
        "filter": narrowed,
        "rows": band_rows(win_rates(decided), money),
        "quotes": len(decided),
        "won": sum(outcome.is_won for outcome in decided),
    }
    return render(request, "studio/books/books_price.html", context)


def _asked(narrowed: DaysFilter) -> dict[str, Any]:
    """What a list is narrowed to, without what was left empty; nothing where it cannot be read."""
    asked = narrowed.form.cleaned_data if narrowed.form.is_valid() else {}
    return {name: value for name, value in asked.items() if value}


def _decided(days: Mapping[str, date]) -> list[Outcome]:
    """The quotes that were decided in the days that are asked for."""
    today = timezone.localdate()
    return outcomes(days.get("since", EARLIEST), days.get("until", today), on=today)


def account(request: HttpRequest, reference: str) -> HttpResponse:
    """What one piece earned, and why that is not what was quoted."""
    kept = _account(reference)
    return render(request, "studio/books/account.html", {"kept": kept, "job": kept.job, "page": account_page(kept)})


@require_POST
def again(request: HttpRequest, reference: str) -> HttpResponse:
    """Work a piece out again, after something of it changed."""
    kept = _account(reference)
    did(request, lambda: settle(kept.job))
    return redirect("account", reference)


def month_list(request: HttpRequest) -> HttpResponse:
    """All months, open and closed, and how the overhead of a year came out."""
    today = timezone.localdate()
    asked = request.GET.get("year", "")
    year = int(asked) if asked.isdecimal() and len(asked) == YEAR_DIGITS else today.year
    page = months_page(
        year=year if EARLIEST.year <= year <= today.year else today.year,
        on=today,
        currency=studio_currency(),
    )
    return render(request, "studio/books/months.html", {"page": page})


@require_http_methods(["GET", "POST"])
@counts_once
def close(request: HttpRequest) -> HttpResponse:
    """Close the month that comes next, after saying what that means."""
    month = next_to_close(on=timezone.localdate())
    form = MonthForm(request.POST or None, initial={"month": month})
    if form.is_valid():
        begin: date = form.cleaned_data["month"]
        try:
            closed = close_month(begin.year, begin.month, user=maker(request))
        except Refused as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{closed} is closed. What comes to light later counts in the next month.")
            return redirect("months")
    context = {
        "form": form,
        "month": month,
        "last_day": last_day(month) if month else None,
        "figures": next((figures for figures in months() if figures.first_day == month), None),
    }
    return render(request, "studio/books/month_close.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@counts_once
def reopen(request: HttpRequest) -> HttpResponse:
    """Open the last closed month again, after saying what that means and asking why."""
    last = last_closed()
    form = ReopenForm(request.POST or None, initial={"month": last.first_day if last else None})
    if form.is_valid():
        begin: date = form.cleaned_data["month"]
        try:
            reopen_month(begin.year, begin.month, why=form.cleaned_data["why"], user=maker(request))
        except Refused as refusal:
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{begin:%B %Y} is open again.")
            return redirect("months")
    context = {"form": form, "last": last}
    return render(request, "studio/books/month_reopen.html", context, status=422 if form.errors else 200)


def _account(reference: str) -> PieceAccount:
    kept: QuerySet[PieceAccount] = PieceAccount.objects.select_related("job__client", "job__revision__quote")
    return get_object_or_404(kept, job__reference=reference)


def _words(key: str) -> Callable[[str], str]:
    return (lambda month: f"{month_start(month):%B %Y}") if key == "month" else (lambda name: name or "Without a name")


def _way(key: str, request: HttpRequest) -> Callable[[str], str]:
    """The list of pieces, narrowed to a key and to the days of this page."""
    days = {name: request.GET[name] for name in ("since", "until") if request.GET.get(name)}

    def way(value: str) -> str:
        match key:
            case "month":
                begin = month_start(value)
                asked = {"since": begin.isoformat(), "until": last_day(begin).isoformat()}
            case "client":
                asked = {**days, "word": value}
            case _:
                asked = {**days, key: value}
        return f"{reverse('books')}?{urlencode(asked)}"

    return way
