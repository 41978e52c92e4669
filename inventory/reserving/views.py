"""What is kept for which work, and whether that work can start."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.findings import Refused
from inventory.ground.measures import quantity_text
from inventory.ground.site.exporting import exported
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.paging import turn_to_page
from inventory.models import Reservation, ReservationLine
from inventory.reserving import reservations as service
from inventory.reserving.filters import ReservationFilter
from inventory.reserving.forms import LotForm, ReleaseForm, StartForm
from inventory.reserving.page import reservation_page
from inventory.reserving.tables import ReservationTable


def listing(request: HttpRequest) -> HttpResponse:
    """Everything that is kept, soonest first."""
    asked = request.GET.copy()
    asked.setdefault("state", Reservation.State.OPEN.value)
    narrowed = ReservationFilter(asked, queryset=Reservation.objects.all())
    table = ReservationTable(narrowed.qs, on=timezone.localdate(), empty_text="Nothing is kept here.")
    turn_to_page(table, request)
    return exported(table, request, name="kept") or render(
        request, "inventory/reserving/reservations.html", {"filter": narrowed, "table": table}
    )


def show(request: HttpRequest, reference: str) -> HttpResponse:
    """What one piece of work needs, and what is missing if it starts on a day."""
    reservation = get_object_or_404(Reservation, reference=reference)
    today = timezone.localdate()
    needed_on = service.starts_on(reservation, on=today)
    form = StartForm(request.GET if "start" in request.GET else None, initial={"start": needed_on})
    start = form.cleaned_data["start"] if form.is_valid() else needed_on
    context = {
        "reservation": reservation,
        "form": form,
        "page": reservation_page(reservation, start=start, on=today),
        "start": start,
    }
    return render(request, "inventory/reserving/reservation.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def line(request: HttpRequest, reference: str, pk: int) -> HttpResponse:
    """Keep a line from one lot, and go back to the page that asked for it: `?back=`, else what is kept for the work."""
    reservation_line = get_object_or_404(
        ReservationLine.objects.select_related("item__material", "reservation"), pk=pk, reservation__reference=reference
    )
    asked = request.GET.get("back", "")
    is_ours = url_has_allowed_host_and_scheme(asked, allowed_hosts=None)
    back = asked if is_ours else reverse("inventory:reservation", args=[reference])
    form = LotForm(request.POST or None, line=reservation_line)
    if form.is_valid():
        with RefusalsOn(form):
            service.keep_from_lot(reservation_line, form.cleaned_data["lot"])
            return redirect(back)
    context = {
        "form": form,
        "line": reservation_line,
        "back": back,
        "wanted": quantity_text(reservation_line.remaining, reservation_line.item.unit),
    }
    return render(request, "inventory/reserving/reservation_line.html", context, status=422 if form.errors else 200)


@require_POST
def keep_again(request: HttpRequest, reference: str) -> HttpResponse:
    """Keep anew what was released."""
    try:
        service.keep_again(reference, on=timezone.localdate())
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("inventory:reservation", reference)


@require_POST
def release(request: HttpRequest, reference: str) -> HttpResponse:
    """Keep nothing for it any more."""
    form = ReleaseForm(request.POST)
    if form.is_valid():
        service.release(reference, why=form.cleaned_data["why"])
        messages.success(request, f"Nothing is kept for {reference} any more.")
    else:
        messages.error(request, "Say why it is released.")
    return redirect("inventory:reservation", reference)
