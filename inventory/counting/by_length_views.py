"""Counting bones by their lengths, all of them on one page."""

from functools import partial

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from inventory.counting.by_length import BoneGroup, bone_groups, keep_by_length, seen_now
from inventory.counting.by_length_forms import ByLengthForm
from inventory.ground.findings import Refused
from inventory.ground.site.findings_form import add_refusal
from inventory.models import StockItem, Stocktake
from inventory.stock.moved import is_moved, last_movement


@require_http_methods(["GET", "POST"])
def count(request: HttpRequest, number: int) -> HttpResponse:
    """Write down what lies there by length; what moved meanwhile is counted again, and nothing is kept before it is."""
    stocktake = get_object_or_404(Stocktake, number=number)
    if stocktake.state != Stocktake.State.OPEN:
        return redirect("inventory:stocktake-review", number)
    groups = bone_groups(stocktake)
    if not groups:
        return redirect("inventory:stocktake", number)
    asking = partial(ByLengthForm, groups=groups, is_blind=stocktake.is_blind)
    form = asking(request.POST or None, initial={"seen": seen_now(stocktake)})
    if form.is_valid():
        try:
            kept = keep_by_length(stocktake, form.counts, seen=form.cleaned_data["seen"])
        except Refused as refusal:
            if is_moved(refusal):
                said = form.without(_moved(groups, since=form.cleaned_data["seen"]))
                form = asking({**said, "seen": seen_now(stocktake)})
            add_refusal(form, refusal)
        else:
            messages.success(request, f"{kept} {'length' if kept == 1 else 'lengths'} counted.")
            left = stocktake.lines.filter(counted__isnull=True).exists()
            return redirect("inventory:stocktake" if left else "inventory:stocktake-review", number)
    context = {"stocktake": stocktake, "form": form}
    return render(request, "inventory/counting/by_length.html", context, status=422 if form.errors else 200)


def _moved(groups: list[BoneGroup], *, since: int) -> set[StockItem]:
    return {group.item for group in groups if any(last_movement(line.lot) > since for line in group.lines)}
