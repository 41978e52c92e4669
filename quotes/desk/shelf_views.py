"""Whether a quote could start with what is on the shelf."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from inventory.ground.findings import Refused
from inventory.models import Reservation
from inventory.reserving.forms import StartForm
from inventory.reserving.page import MissingRow, missing_rows
from inventory.reserving.stand_in_page import StandInRow, stand_in_rows
from quotes.desk.figures import commission_of
from quotes.desk.finding import get_revision
from quotes.documents.material_needs import MaterialNeed
from quotes.needs.on_the_shelf import OptionShelf, option_shelves
from quotes.needs.reserving import needed_by, reference_of
from quotes.workroom.settings import workroom


def shelf(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Whether the work could start, and what is missing for which operation."""
    revision = get_revision(request, pk, number)
    today = timezone.localdate()
    by = needed_by(revision.quote, workroom(), on=today)
    form = StartForm(request.GET if "start" in request.GET else None, initial={"start": by})
    start = form.cleaned_data["start"] if form.is_valid() else by
    try:
        shelves = option_shelves(revision, commission_of(revision.inputs, revision.pattern), start=start, on=today)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("quotes:revision", pk, number)
    context = {
        "revision": revision,
        "form": form,
        "start": start,
        "shelves": [_in_words(option, revision.currency) for option in shelves],
        "kept": Reservation.objects.filter(reference=reference_of(revision.quote)).first(),
    }
    return render(request, "quotes/desk/shelf.html", context, status=422 if form.errors else 200)


def _in_words(
    option: OptionShelf, currency: str
) -> tuple[OptionShelf, list[MissingRow], list[tuple[MaterialNeed, list[StandInRow]]]]:
    """An option with its lacks, and with what was never on the shelf, each with what would do in its place."""
    rows = [stand_in_rows(offers, currency=currency) for offers in option.stand_ins]
    count = len(option.lacks)
    return option, missing_rows(option.lacks, rows[:count]), list(zip(option.never_kept, rows[count:], strict=True))
