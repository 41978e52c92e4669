"""A stocktake: the list, counting line by line, the sheets, what differs and its posting."""

from django.contrib import messages
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from inventory.counting.by_length import lots_of_bones
from inventory.counting.count_sheet import SheetLine, stocktake_sheet
from inventory.counting.forms import CountLineForm, ReviewForm, SheetForm, StartForm
from inventory.counting.page import by_place, difference_row, line_row, lot_words, place_of, short_row, total_words
from inventory.counting.stocktaking import (
    Counted,
    counts_fingerprint,
    differences,
    keep_counts,
    last_movements,
    lines_of,
    moved_since_start,
    places,
    post,
    shortfalls,
    start,
    take_sheet,
)
from inventory.counting.stocktaking import drop as drop_stocktake
from inventory.ground.findings import Finding, Refused
from inventory.ground.measures import quantity_text
from inventory.ground.site.downloads import download
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.maker import maker
from inventory.models import Stocktake
from inventory.shelf.acting import counts_once
from inventory.shelf.settings import shelf
from inventory.stock.ledger import Act
from inventory.stock.moved import is_moved


@require_http_methods(["GET", "POST"])
@counts_once
def listing(request: HttpRequest) -> HttpResponse:
    """All stocktakes, and the start of one."""
    form = StartForm(request.POST or None, places=places(), bones=lots_of_bones())
    if form.is_valid():
        with RefusalsOn(form):
            stocktake = start(**form.cleaned_data, by=maker(request))
            page = "stocktake-by-length" if form.cleaned_data["kind"] else "stocktake"
            return redirect(f"inventory:{page}", stocktake.number)
    stocktakes = Stocktake.objects.annotate(
        lots=Count("lines"), counted=Count("lines", filter=Q(lines__counted__isnull=False))
    )
    stocktakes = stocktakes.select_related("started_by").order_by("-number")
    context = {"form": form, "stocktakes": stocktakes}
    return render(request, "inventory/counting/stocktakes.html", context, status=422 if form.errors else 200)


@require_safe
def show(request: HttpRequest, number: int) -> HttpResponse:
    """What is counted and what is not, place by place."""
    stocktake = get_object_or_404(Stocktake, number=number)
    if stocktake.state != Stocktake.State.OPEN:
        return redirect("inventory:stocktake-review", number)
    return _counting_page(request, stocktake, SheetForm())


@require_http_methods(["GET", "POST"])
def count_line(request: HttpRequest, number: int, pk: int) -> HttpResponse:
    """Count one lot and go on to the next."""
    stocktake = get_object_or_404(Stocktake, number=number)
    if stocktake.state != Stocktake.State.OPEN:
        return redirect("inventory:stocktake-review", number)
    line = get_object_or_404(lines_of(stocktake), pk=pk)
    form = CountLineForm(request.POST or None, line=line)
    left = list(stocktake.lines.filter(counted__isnull=True).exclude(pk=pk).values_list("pk", flat=True))
    after = next((other for other in left if other > pk), left[0] if left else None)
    if form.is_valid():
        cleaned = form.cleaned_data
        try:
            counted = Counted(line=pk, quantity=cleaned["counted"], how=cleaned["how"], seen=cleaned["seen"])
            keep_counts(stocktake, [counted])
        except Refused as refusal:
            messages.error(request, str(refusal))
            if is_moved(refusal):
                return redirect("inventory:count-line", number, pk)
            return redirect("inventory:stocktake-review", number)
        messages.success(request, f"{line.lot.item}: {quantity_text(cleaned['counted'], form.unit)}.")
        if after is None:
            return redirect("inventory:stocktake-review", number)
        return redirect("inventory:count-line", number, after)
    context = {
        "stocktake": stocktake,
        "row": line_row(line, stocktake),
        "moved": moved_since_start(line),
        "form": form,
        "grams": form.grams,
        "after": after,
        "left": len(left) + (line.counted is None),
    }
    return render(request, "inventory/counting/count_line.html", context, status=422 if form.errors else 200)


@require_safe
def print_sheet(request: HttpRequest, number: int) -> HttpResponse:
    """The count sheet on paper."""
    stocktake = get_object_or_404(Stocktake, number=number)
    return render(
        request,
        "inventory/counting/stocktake_print.html",
        {"stocktake": stocktake, "places": by_place(stocktake), "now": timezone.localtime()},
    )


@require_safe
def xlsx(request: HttpRequest, number: int) -> HttpResponse:
    """The count sheet as a workbook to fill in."""
    stocktake = get_object_or_404(Stocktake, number=number)
    movements = last_movements(stocktake)
    lines = [
        SheetLine(
            line=line.pk,
            movement=movements[line.pk],
            place=place_of(line),
            material=str(line.lot.item),
            lot=lot_words(line.lot),
            unit=line.lot.item.unit,
            book=line.lot.on_hand,
        )
        for line in lines_of(stocktake)
    ]
    return download(stocktake_sheet(number, lines, is_blind=stocktake.is_blind), f"stocktake-{number}.xlsx")


@require_POST
def upload(request: HttpRequest, number: int) -> HttpResponse:
    """Take in a sheet that was filled in: all of it or nothing."""
    stocktake = get_object_or_404(Stocktake, number=number)
    if stocktake.state != Stocktake.State.OPEN:
        return redirect("inventory:stocktake-review", number)
    form = SheetForm(request.POST, request.FILES)
    findings: tuple[Finding, ...] = ()
    if form.is_valid():
        file = form.cleaned_data["file"]
        try:
            taken = take_sheet(stocktake, data=file.read(), filename=file.name)
        except Refused as refusal:
            findings = refusal.findings
        else:
            messages.success(request, f"{taken} {'line' if taken == 1 else 'lines'} counted by the sheet.")
            return redirect("inventory:stocktake", number)
    return _counting_page(request, stocktake, form, findings)


@require_http_methods(["GET", "POST"])
@counts_once
def review(request: HttpRequest, number: int) -> HttpResponse:
    """What differs, with reasons, and its posting; once posted, what was posted and which work is short now."""
    stocktake = get_object_or_404(Stocktake, number=number)
    if stocktake.state != Stocktake.State.OPEN:
        if request.method == "POST":
            messages.info(request, f"{stocktake} is {stocktake.get_state_display().lower()} already.")
            return redirect("inventory:stocktake-review", number)
        return _outcome_page(request, stocktake)
    lines = list(lines_of(stocktake))
    differing = differences(stocktake)
    currency = shelf().currency
    form = ReviewForm(request.POST or None, differences=differing)
    if form.is_valid():
        cleaned = form.cleaned_data
        act = Act(key=cleaned["key"], by=maker(request), why=cleaned.get("why", ""))
        with RefusalsOn(form):
            post(stocktake, act, was_seen=request.POST.get("was_seen", ""), reasons=form.reasons)
            messages.success(request, f"{stocktake} is posted.")
            return redirect("inventory:stocktake-review", number)
    rows = [difference_row(difference, currency, form[f"reason_{difference.line.pk}"]) for difference in differing]
    context = {
        "stocktake": stocktake,
        "form": form,
        "was_seen": counts_fingerprint(lines),
        "rows": rows,
        "total": total_words(differing, currency),
        "agreeing": sum(line.difference == 0 for line in lines),
        "uncounted": [line_row(line, stocktake) for line in lines if line.counted is None],
    }
    return render(request, "inventory/counting/stocktake_review.html", context, status=422 if form.errors else 200)


@require_POST
def drop(request: HttpRequest, number: int) -> HttpResponse:
    """Give a stocktake up."""
    stocktake = get_object_or_404(Stocktake, number=number)
    try:
        drop_stocktake(stocktake)
    except Refused as refusal:
        messages.info(request, str(refusal))
    else:
        messages.success(request, f"{stocktake} is dropped. The books are as they were.")
    return redirect("inventory:stocktakes")


def _counting_page(
    request: HttpRequest, stocktake: Stocktake, form: SheetForm, findings: tuple[Finding, ...] = ()
) -> HttpResponse:
    places_rows = by_place(stocktake)
    rows = [row for _, rows in places_rows for row in rows]
    context = {
        "stocktake": stocktake,
        "places": places_rows,
        "form": form,
        "findings": findings,
        "lots": len(rows),
        "counted": sum(row.counted != "" for row in rows),
        "next": next((row.pk for row in rows if not row.counted), None),
        "has_bones": any(row.item.bone_form for row in rows),
    }
    status = 422 if findings or form.errors else 200
    return render(request, "inventory/counting/stocktake.html", context, status=status)


def _outcome_page(request: HttpRequest, stocktake: Stocktake) -> HttpResponse:
    """The page of a stocktake that is over."""
    differing = differences(stocktake) if stocktake.state == Stocktake.State.POSTED else []
    currency = shelf().currency
    context = {
        "stocktake": stocktake,
        "rows": [difference_row(difference, currency) for difference in differing],
        "total": total_words(differing, currency),
        "shortfalls": [short_row(shortfall) for shortfall in shortfalls(stocktake)] if differing else [],
    }
    return render(request, "inventory/counting/stocktake_review.html", context)
