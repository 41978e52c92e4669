"""The studio's own pages: Today, a request that cannot be read."""

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views import defaults

from inventory.pages.today import shelf_today
from quotes.pages.today import today_page


def home(request: HttpRequest) -> HttpResponse:
    """Today: what waits for an answer, what runs out, what is being drafted, what the shelf lacks."""
    today = timezone.localdate()
    return render(request, "studio/home.html", {"page": today_page(on=today), "shelf": shelf_today(on=today)})


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A request that cannot be read; an upload past its limit says so."""
    if isinstance(exception, RequestDataTooBig):
        return render(request, "413.html", status=413)
    return defaults.bad_request(request, exception)
