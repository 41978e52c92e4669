"""The studio's own pages: Today, a request that cannot be read."""

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views import defaults

from inventory.stock.today import shelf_today
from quotes.desk.today import today_page
from studio.jobs.finding import maker
from studio.keeping.page import copy_standing
from studio.today.page import bench_today


def home(request: HttpRequest) -> HttpResponse:
    """Today: the bench's fittings and near days, what the shelf lacks, quotes that wait, run out or are being drafted."""
    today = timezone.localdate()
    context = {
        "page": today_page(on=today),
        "shelf": shelf_today(on=today),
        "bench": bench_today(user=maker(request), on=today),
        "copy": copy_standing(on=timezone.now()),
    }
    return render(request, "studio/today/home.html", context)


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A request that cannot be read; an upload past its limit says so."""
    if isinstance(exception, RequestDataTooBig):
        return render(request, "413.html", status=413)
    return defaults.bad_request(request, exception)
