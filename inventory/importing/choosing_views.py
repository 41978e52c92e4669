"""What a maker says of a table before it is taken in: another table, what marks and words mean, a row cell by cell."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory.ground.site.findings_form import RefusalsOn
from inventory.importing.choosing import (
    answer,
    choices_of,
    choose_table,
    chosen_table,
    leave_out,
    mend_row,
    pages_of,
    table_at,
    tables_of,
)
from inventory.importing.choosing_forms import AnswersForm, LeaveOutForm, RowForm, TableForm
from inventory.importing.importing import columns_of, letters_of, look_at
from inventory.importing.open_sheets import of_open_sheet
from inventory.models import ImportSheet
from inventory.spreadsheet.rows import cells_kept
from inventory.spreadsheet.table import own_text


@require_http_methods(["GET", "POST"])
@of_open_sheet(with_pages=True)
def table(request: HttpRequest, sheet: ImportSheet) -> HttpResponse:
    """See which tables the file holds, and take another one."""
    tables, chosen = tables_of(sheet), chosen_table(sheet)
    form = TableForm(request.POST or None, pages=pages_of(sheet), tables=tables, chosen=chosen)
    if form.is_valid():
        with RefusalsOn(form):
            place = form.place
            choose_table(
                sheet, tables[place] if isinstance(place, int) else table_at(sheet, page=place[0], row=place[1])
            )
            return redirect("inventory:import-match", sheet.pk)
    context = {"sheet": sheet, "form": form}
    return render(request, "inventory/importing/import_table.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@of_open_sheet(is_matched=True)
def answers(request: HttpRequest, sheet: ImportSheet) -> HttpResponse:
    """Say what marks and words for kinds mean."""
    reading = look_at(sheet).reading
    form = AnswersForm(request.POST or None, marks=reading.marks, kinds=reading.kinds, letters=letters_of(sheet))
    if form.is_valid():
        with RefusalsOn(form):
            answer(sheet, marks=form.marks, kinds=form.kinds)
            return redirect("inventory:import-preview", sheet.pk)
    context = {"sheet": sheet, "form": form}
    return render(request, "inventory/importing/import_answers.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@of_open_sheet(is_matched=True)
def row(request: HttpRequest, sheet: ImportSheet, row: int) -> HttpResponse:
    """Mend a row cell by cell, or leave it out."""
    at = row - sheet.first_row
    if not 0 < at < len(sheet.rows):
        return redirect("inventory:import-preview", sheet.pk)
    cells = cells_kept(sheet.rows[at : at + 1])[0]
    file = {field: own_text(cells[column]) for field, column in columns_of(sheet).items()}
    reading = look_at(sheet).reading
    left_out = {found.number: found for found in reading.left_out}
    form = RowForm(
        request.POST or None,
        file=file,
        shown={**file, **choices_of(sheet).mended.get(row, {})},
        is_left_out=row in left_out,
    )
    if form.is_valid():
        with RefusalsOn(form):
            mend_row(sheet, row, cells=form.cells, is_left_out=form.cleaned_data["is_left_out"])
            return redirect("inventory:import-preview", sheet.pk)
    context = {
        "sheet": sheet,
        "form": form,
        "row": row,
        "file": " · ".join(cell for cell in cells if cell),
        "faults": reading.faults.get(row, ()),
        "left_out": left_out.get(row),
    }
    return render(request, "inventory/importing/import_row.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@of_open_sheet()
def leave(request: HttpRequest, sheet: ImportSheet) -> HttpResponse:
    """Leave the rows out that were ticked among those to mend."""
    form = LeaveOutForm(request.POST or None, rows=range(sheet.first_row + 1, sheet.first_row + len(sheet.rows)))
    if form.is_valid():
        with RefusalsOn(form):
            leave_out(sheet, form.cleaned_data["row"])
    for error in form.errors.values():
        messages.error(request, str(error[0]))
    return redirect("inventory:import-preview", sheet.pk)
