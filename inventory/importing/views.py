"""A maker's own table comes in: hand it in, match its columns, look at it, take it in."""

from collections.abc import Container, Mapping
from dataclasses import dataclass
from itertools import islice

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory.ground.findings import Refused
from inventory.ground.measures import quantity_text
from inventory.ground.site.findings_form import RefusalsOn, add_refusal
from inventory.ground.site.maker import maker
from inventory.ground.wording import minor_text, unit_cost_text
from inventory.importing.choosing import asides, choices_of, chosen_table
from inventory.importing.choosing_forms import AnswersForm
from inventory.importing.forms import MatchForm, SheetForm, TakeInForm
from inventory.importing.importing import (
    Preview,
    header_of,
    letters_of,
    likely_columns,
    look_at,
    match_columns,
    save_sheet,
    sheet_of_upload,
    take_in,
)
from inventory.importing.open_sheets import of_open_sheet, was_taken
from inventory.models import ImportSheet
from inventory.models.materials import MILLIONTHS
from inventory.shelf.acting import act_once
from inventory.shelf.settings import shelf
from inventory.spreadsheet.points import evidence_words
from inventory.spreadsheet.rows import cells_kept
from inventory.spreadsheet.table import SheetRow
from inventory.spreadsheet.words import LABELS, Field

SHOWN_ROWS = 20
SHOWN_OF_FILE = 5
SHOWN_FAULTS = 100
MOST_ASIDES = 30


@require_http_methods(["GET", "POST"])
def upload(request: HttpRequest) -> HttpResponse:
    """Hand in a table."""
    form = SheetForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        with RefusalsOn(form):
            sheet = sheet_of_upload(upload=form.cleaned_data["file"], user=maker(request))
            return act_once(request, lambda: redirect("inventory:import-match", save_sheet(sheet).pk))
    return render(request, "inventory/importing/import.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@of_open_sheet(with_pages=True)
def match(request: HttpRequest, sheet: ImportSheet) -> HttpResponse:
    """Say which column holds what."""
    header = header_of(sheet)
    form = MatchForm(request.POST or None, header=header, likely=likely_columns(sheet), left=sheet.table.get("left", 0))
    if form.is_valid():
        match_columns(sheet, form.columns)
        return redirect("inventory:import-preview", sheet.pk)
    context = {
        "sheet": sheet,
        "form": form,
        "letters": form.letters,
        "header": header,
        "rows": cells_kept(sheet.rows[1 : SHOWN_OF_FILE + 1]),
        "table": chosen_table(sheet),
        "asides": list(islice(asides(sheet), MOST_ASIDES)),
    }
    return render(request, "inventory/importing/import_match.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@of_open_sheet(is_matched=True)
def preview(request: HttpRequest, sheet: ImportSheet) -> HttpResponse:
    """See what would be kept, and take it in: all of it or nothing."""
    form = TakeInForm(request.POST or None)
    if form.is_valid():
        try:
            taken = take_in(sheet, key=form.cleaned_data["key"], user=maker(request))
        except Refused as refusal:
            seen = look_at(sheet)
            if seen.stops:
                form.add_error(None, "Nothing was taken in: mend the rows below first.")
            else:
                add_refusal(form, refusal)
        else:
            return _taken(request, sheet, taken)
    else:
        seen = look_at(sheet)
    currency = shelf().currency
    page = Paginator(seen.rows, SHOWN_ROWS).get_page(request.GET.get("page"))
    questions = AnswersForm(marks=seen.reading.marks, kinds=seen.reading.kinds, letters=letters_of(sheet))
    context = {
        "sheet": sheet,
        "form": form,
        "seen": seen,
        "value": minor_text(seen.value_minor, currency),
        "page": page,
        "rows": [_row_words(row, currency, choices_of(sheet).mended) for row in page],
        "questions": questions,
        "faults": seen.faults[:SHOWN_FAULTS],
        "more_faults": max(0, len(seen.faults) - SHOWN_FAULTS),
        "marks": _mark_words(seen, letters_of(sheet)),
    }
    return render(request, "inventory/importing/import_preview.html", context, status=422 if form.errors else 200)


def _taken(request: HttpRequest, sheet: ImportSheet, taken: Preview | None) -> HttpResponse:
    if taken is None:
        return was_taken(request, sheet)
    materials = taken.new_materials + taken.known_materials
    messages.success(request, f"{sheet.filename} is taken in: {materials} materials, {taken.lots} lots.")
    return redirect("inventory:stock")


@dataclass(frozen=True, slots=True, kw_only=True)
class _RowWords:
    """A row as people read it."""

    row: SheetRow
    is_mended: bool
    size: str
    price: str
    quantity: str
    value: str


def _row_words(row: SheetRow, currency: str, mended: Container[int]) -> _RowWords:
    size = f"{row.size_tenths_mm / 10:g} mm" if row.size_tenths_mm else ""
    price = row.unit_cost_millionths
    return _RowWords(
        row=row,
        is_mended=row.number in mended,
        size=size,
        price="as it is" if price is None else unit_cost_text(price / MILLIONTHS, currency),
        quantity=quantity_text(row.quantity, row.unit),
        value=minor_text(row.value_minor, currency),
    )


def _mark_words(seen: Preview, letters: Mapping[Field, str]) -> list[str]:
    """How the marks in numbers are read, a sentence a column that has any."""
    sentences = []
    for field, found in seen.reading.marks.items():
        shown = "as you said" if found.is_told else " and ".join(evidence_words(found))
        if shown:
            sentences.append(f"{LABELS[field].capitalize()}, column {letters[field]}: {shown}.")
    return sentences
