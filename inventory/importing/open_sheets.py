"""The sheet that a page of the import is about, while it is not taken in yet."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from inventory.ground.wording import day_text
from inventory.models import ImportSheet

__all__ = ["of_open_sheet", "was_taken"]

Said = ParamSpec("Said")
SheetView = Callable[Concatenate[HttpRequest, ImportSheet, Said], HttpResponse]


def of_open_sheet(
    *, with_pages: bool = False, is_matched: bool = False
) -> Callable[[SheetView[Said]], Callable[..., HttpResponse]]:
    """Give a view the sheet of its address, and lead away from one that was taken in.

    Args:
        with_pages: the view reads the whole file, which is left out otherwise.
        is_matched: the view needs columns that were matched; without, it leads to where that is done.
    """
    sheets = ImportSheet.objects.all() if with_pages else ImportSheet.objects.defer("pages")

    def of_sheet(view: SheetView[Said]) -> Callable[..., HttpResponse]:
        @wraps(view)
        def answer(request: HttpRequest, pk: int, *args: Said.args, **kwargs: Said.kwargs) -> HttpResponse:
            sheet = get_object_or_404(sheets, pk=pk)
            if sheet.taken_at:
                return was_taken(request, sheet)
            if is_matched and not sheet.columns:
                return redirect("inventory:import-match", pk)
            return view(request, sheet, *args, **kwargs)

        return answer

    return of_sheet


def was_taken(request: HttpRequest, sheet: ImportSheet) -> HttpResponse:
    """Lead away from a sheet that was taken in, and say when."""
    sheet.refresh_from_db(fields=["taken_at"])
    messages.info(request, f"{sheet.filename} was taken in on {day_text(timezone.localdate(sheet.taken_at))}.")
    return redirect("inventory:stock")
