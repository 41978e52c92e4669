"""The page of a year's result."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from inventory.ground.days import EARLIEST
from inventory.ground.site.exporting import exported
from studio.books.year_page import year_page
from studio.books.year_table import YearTable

__all__ = ["year"]


def year(request: HttpRequest, year: int | None = None) -> HttpResponse:
    """What a year left, line by line; the current one where none is named."""
    today = timezone.localdate()
    asked = today.year if year is None else year
    if not EARLIEST.year <= asked <= today.year:
        raise Http404
    page, found = year_page(asked, on=today)
    return exported(YearTable(found), request, name=f"year-{asked}") or render(
        request, "studio/books/year.html", {"page": page}
    )
