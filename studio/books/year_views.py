"""The page of a year's result."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from inventory.ground.days import EARLIEST
from inventory.ground.site.exporting import exported
from studio.books.year import first_year, result_of_year
from studio.books.year_page import year_page
from studio.books.year_table import YearTable

__all__ = ["year"]


def year(request: HttpRequest, year: int | None = None) -> HttpResponse:
    """What a year left, line by line; the current one where none is named."""
    today = timezone.localdate()
    asked = today.year if year is None else year
    if not EARLIEST.year <= asked <= today.year:
        raise Http404
    found = result_of_year(asked, on=today)
    if (answer := exported(YearTable(found), request, name=f"year-{asked}")) is not None:
        return answer
    context = {
        "page": year_page(asked, found, on=today),
        "years": range(today.year, first_year(on=today) - 1, -1),
    }
    return render(request, "studio/books/year.html", context)
