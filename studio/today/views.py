"""The studio's own pages: Today, a request that cannot be read."""

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views import defaults

from inventory.ground.site.uploads import USUAL
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
    """A request that cannot be read; an upload past its limit says so, in the open page for htmx."""
    if isinstance(exception, RequestDataTooBig):
        is_part = request.headers.get("HX-Request") == "true"
        allowance = getattr(exception, "allowance", USUAL)
        # A part comes into the page of the form, whose own address "" is; a whole page stands where the form was sent to.
        context = {"allowance": allowance, "back": "" if is_part else _page_before(request)}
        return render(request, "_413.html" if is_part else "413.html", context, status=413)
    return defaults.bad_request(request, exception)


def _page_before(request: HttpRequest) -> str | None:
    """The page of this site that a request was sent from; None where the browser does not say."""
    page = request.headers.get("Referer", "")
    is_ours = url_has_allowed_host_and_scheme(page, {request.get_host()}, require_https=request.is_secure())
    return page if page and is_ours else None
