"""A lot and what is done to it."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from inventory.ground.findings import Refused
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.keyed_forms import Cleaned
from inventory.ground.site.maker import maker
from inventory.models import Lot, Movement
from inventory.shelf.settings import shelf
from inventory.stock import ledger
from inventory.stock.correcting import correct_costs
from inventory.stock.cutting import cut_to_length, put_back_offcuts
from inventory.stock.item_page import lot_row
from inventory.stock.ledger import Act, Remnant
from inventory.stock.lot_forms import (
    CostForm,
    CountForm,
    CutForm,
    GiveBackForm,
    IssueForm,
    OffcutForm,
    ScrapForm,
    SplitForm,
    WashForm,
    remnant_of,
)
from inventory.stock.moved import is_moved, must_not_have_moved
from inventory.stock.tables import MovementTable


def show(request: HttpRequest, pk: int) -> HttpResponse:
    """A lot with its history."""
    lot = _lot(pk)
    movements = Movement.objects.filter(lot=lot).select_related("posting__by", "item__material", "lot").order_by("-id")
    table = MovementTable(movements, currency=shelf().currency, orderable=False, exclude=("item", "lot"))
    return render(request, "inventory/stock/lot.html", {"lot": lot, "row": lot_row(lot), "table": table})


@require_http_methods(["GET", "POST"])
def issue(request: HttpRequest, pk: int) -> HttpResponse:
    """Give some of it to a job, or use it for a purpose."""

    def doing(lot: Lot, act: Act, cleaned: Cleaned) -> None:
        ledger.issue(
            act,
            lot=lot,
            quantity=cleaned["quantity"],
            job=cleaned["job"],
            purpose=cleaned["purpose"],
            takes_reserved=cleaned["takes_reserved"],
        )

    return _act(request, pk, IssueForm, "Issue", doing, caution="steel")


@require_http_methods(["GET", "POST"])
def give_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Take unused material back."""

    def doing(lot: Lot, act: Act, cleaned: Cleaned) -> None:
        kept = lot.item.reservation_lines.filter(reservation__reference__iexact=cleaned["job"], issued__gt=0)
        ledger.give_back(
            act,
            lot=lot,
            quantity=cleaned.get("quantity") or 0,
            job=cleaned["job"],
            purpose=cleaned["purpose"],
            remnant=remnant_of(cleaned),
            line=kept.first() if cleaned["again"] else None,
        )

    return _act(request, pk, GiveBackForm, "Take back", doing)


@require_http_methods(["GET", "POST"])
def scrap(request: HttpRequest, pk: int) -> HttpResponse:
    """Write some of it off."""

    def doing(lot: Lot, act: Act, cleaned: Cleaned) -> None:
        ledger.scrap(act, lot=lot, quantity=cleaned["quantity"])

    return _act(request, pk, ScrapForm, "Scrap", doing)


@require_http_methods(["GET", "POST"])
def count(request: HttpRequest, pk: int) -> HttpResponse:
    """Say what really lies there."""

    def doing(lot: Lot, act: Act, cleaned: Cleaned) -> HttpResponse | None:
        difference, since = cleaned["quantity"] - cleaned["book"], cleaned["seen"]
        try:
            if difference:
                ledger.count(act, [(lot, difference)], seen={lot.pk: since})
            else:
                must_not_have_moved(lot, since=since)
        except Refused as refusal:
            if not is_moved(refusal):
                raise
            # Whoever counts again begins with an empty form and the book as it is now.
            messages.error(request, str(refusal))
            return redirect("inventory:lot-count", pk)
        return None

    return _act(request, pk, CountForm, "Count this lot", doing)


@require_http_methods(["GET", "POST"])
def wash(request: HttpRequest, pk: int) -> HttpResponse:
    """Make raw cloth ready."""

    def doing(lot: Lot, act: Act, cleaned: Cleaned) -> None:
        ledger.wash(
            act,
            lot=lot,
            quantity=cleaned.get("quantity", 0),
            ready_quantity=cleaned.get("ready", 0),
            remnant=remnant_of(cleaned),
        )

    return _act(request, pk, WashForm, "Washed and measured", doing, caution="steam")


@require_http_methods(["GET", "POST"])
def cost(request: HttpRequest, pk: int) -> HttpResponse:
    """Say what it cost in the end."""
    lot = _lot(pk)
    if lot.from_lot_id:
        return redirect("inventory:lot-cost", lot.from_lot_id)
    form = CostForm(request.POST or None, lot=lot)
    if form.is_valid():
        with RefusalsOn(form):
            act = Act(key=form.cleaned_data["key"], by=maker(request), why=form.cleaned_data["why"])
            correct_costs(act, [form.costs()])
            messages.success(request, "What it cost is corrected.")
            return redirect("inventory:lot", pk)
    context = {"form": form, "lot": lot, "row": lot_row(lot), "heading": "What it cost"}
    return render(request, "inventory/stock/lot_act.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def split_off(request: HttpRequest, pk: int) -> HttpResponse:
    """Lay a remnant apart."""

    def doing(lot: Lot, act: Act, cleaned: Cleaned) -> None:
        remnant = Remnant(width_mm=round(cleaned["width"]), length_mm=round(cleaned["length"]))
        ledger.split_off(act, lot=lot, remnant=remnant)

    return _act(request, pk, SplitForm, "Split off a remnant", doing)


@require_http_methods(["GET", "POST"])
def cut(request: HttpRequest, pk: int) -> HttpResponse:
    """Cut a coil or longer bones to length."""

    def doing(lot: Lot, act: Act, cleaned: Cleaned) -> None:
        lengths, form, count = cleaned["lengths"], cleaned["form"], cleaned["count"]
        cut_to_length(act, lot=lot, lengths=lengths, form=form, count=count)

    return _act(request, pk, CutForm, "Cut to length", doing, caution="steel", only_bones=True)


@require_http_methods(["GET", "POST"])
def put_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Put rests of a bone back into the drawer."""

    def doing(lot: Lot, act: Act, cleaned: Cleaned) -> None:
        put_back_offcuts(act, lot=lot, lengths=cleaned["lengths"])

    return _act(request, pk, OffcutForm, "Put a rest back", doing, only_bones=True)


def _act(
    request: HttpRequest,
    pk: int,
    form_class: type[Any],
    heading: str,
    doing: Callable[[Lot, Act, Cleaned], HttpResponse | None],
    *,
    caution: str = "",
    only_bones: bool = False,
) -> HttpResponse:
    """Ask for an act, do it once, and go back to the item, unless what is done answers itself."""
    lot = _lot(pk)
    if only_bones and lot.item.bone_form is None:
        return redirect("inventory:lot", pk)
    asked = request.GET
    initial: dict[str, object] = {"job": asked["job"][:40]} if "job" in asked else {}
    if asked.get("quantity", "").isdecimal():
        initial["quantity"] = min(lot.on_hand, int(asked["quantity"][:12]))
    form = form_class(request.POST or None, lot=lot, initial=initial)
    if form.is_valid():
        cleaned = form.cleaned_data
        with RefusalsOn(form):
            answer = doing(lot, Act(key=cleaned["key"], by=maker(request), why=cleaned.get("why", "")), cleaned)
            if answer is not None:
                return answer
            messages.success(request, f"{heading}: done.")
            return redirect("inventory:item", lot.item.code)
    context = {"form": form, "lot": lot, "row": lot_row(lot), "heading": heading, "caution": caution}
    return render(request, "inventory/stock/lot_act.html", context, status=422 if form.errors else 200)


def _lot(pk: int) -> Lot:
    return get_object_or_404(Lot.objects.select_related("item__material", "supplier"), pk=pk)
