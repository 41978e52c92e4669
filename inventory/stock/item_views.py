"""The stock list, the ledger and an item's pages."""

from datetime import timedelta

from django.contrib import messages
from django.db.models import Exists, OuterRef
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.materials import MaterialKind
from inventory.ground.site.exporting import exported
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.maker import maker
from inventory.ground.site.paging import turn_to_page
from inventory.models import Lot, Movement, StockItem, Substitute
from inventory.reserving.availability import availability
from inventory.shelf.acting import counts_once
from inventory.shelf.settings import shelf, studio_currency
from inventory.stock import ledger
from inventory.stock.filters import MovementFilter, StockFilter
from inventory.stock.item_forms import ItemForm, SubstituteForm
from inventory.stock.item_page import item_page
from inventory.stock.lot_forms import ReceiveForm
from inventory.stock.price_list import of_unknown_kind
from inventory.stock.tables import MovementTable, StockTable

KNOWN = list(MaterialKind)
"""Kinds whose quantities can be read; what a later version wrote is named beside the list."""


def listing(request: HttpRequest) -> HttpResponse:
    """What lies on the shelf, what of it is kept, coming and free."""
    today = timezone.localdate()
    items = StockItem.objects.filter(material__is_retired=False, material__kind__in=KNOWN).select_related("material")
    # What comes in lengths is listed by its lengths; without any, as such.
    lengths = StockItem.objects.filter(material=OuterRef("material"), form=OuterRef("form"), size_tenths_mm__gt=0)
    items = items.exclude(Exists(lengths), size_tenths_mm=0, on_hand=0)
    narrowed = StockFilter(request.GET, queryset=items, still_since=today - timedelta(days=365))
    table = StockTable(narrowed.qs, currency=shelf().currency, empty_text="Nothing stands here.")
    turn_to_page(table, request)
    if "export" in request.GET:
        table.standing = availability(narrowed.qs.values("pk"), on=today)
    else:
        table.standing = availability([row.record.pk for row in table.page.object_list], on=today)
    return exported(table, request, name="stock") or render(
        request, "inventory/stock/stock.html", {"filter": narrowed, "table": table, "unknown": of_unknown_kind()}
    )


def movements(request: HttpRequest) -> HttpResponse:
    """The ledger, last first."""
    readable = Movement.objects.filter(item__material__kind__in=KNOWN)
    newest_first = readable.select_related("posting__by", "item__material", "lot").order_by("-id")
    narrowed = MovementFilter(request.GET, queryset=newest_first)
    table = MovementTable(narrowed.qs, currency=shelf().currency, empty_text="Nothing was moved.")
    turn_to_page(table, request)
    return exported(table, request, name="ledger") or render(
        request, "inventory/stock/movements.html", {"filter": narrowed, "table": table, "unknown": of_unknown_kind()}
    )


def show(request: HttpRequest, code: str) -> HttpResponse:
    """One item with all that is known of it."""
    item = _item(code)
    page = item_page(item, on=timezone.localdate(), currency=shelf().currency)
    siblings = StockItem.objects.filter(material=item.material).exclude(pk=item.pk).select_related("material")
    return render(request, "inventory/stock/item.html", {"item": item, "page": page, "siblings": siblings})


@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, code: str) -> HttpResponse:
    """Where an item lies and when it is bought."""
    item = _item(code)
    form = ItemForm(request.POST or None, instance=item)
    if form.is_valid():
        form.save()
        return redirect("inventory:item", code)
    context = {"form": form, "item": item, "heading": "How it is kept"}
    return render(request, "inventory/stock/item_form.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def receive(request: HttpRequest, code: str) -> HttpResponse:
    """Goods that came without an order."""
    item, currency = _item(code), studio_currency()
    form = ReceiveForm(request.POST or None, item=item, currency=currency)
    if form.is_valid():
        cleaned = form.cleaned_data
        arrival = ledger.Arrival(
            item=item,
            quantity=cleaned["quantity"],
            value_minor=currency.to_minor(cleaned["value"]),
            facts={
                "supplier": cleaned["supplier"],
                "dye_lot": cleaned["dye_lot"],
                "place": cleaned["place"],
                "state": Lot.State.RAW if cleaned.get("is_raw") else Lot.State.READY,
            },
        )
        with RefusalsOn(form):
            ledger.receive(ledger.Act(key=cleaned["key"], by=maker(request), day=cleaned["received_on"]), [arrival])
            messages.success(request, "On the shelf.")
            return redirect("inventory:item", code)
    context = {"form": form, "item": item, "heading": "Receive without an order"}
    return render(request, "inventory/stock/item_form.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@counts_once
def substitute(request: HttpRequest, code: str) -> HttpResponse:
    """Allow another item to stand in."""
    item = _item(code)
    form = SubstituteForm(request.POST or None, item=item)
    if form.is_valid():
        Substitute.objects.create(item=item, **form.cleaned_data)
        return redirect("inventory:item", code)
    context = {"form": form, "item": item, "heading": "What may stand in"}
    return render(request, "inventory/stock/item_form.html", context, status=422 if form.errors else 200)


@require_POST
def remove_substitute(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Allow it no longer."""
    get_object_or_404(Substitute, pk=pk, item__code=code).delete()
    return redirect("inventory:item", code)


def _item(code: str) -> StockItem:
    return get_object_or_404(StockItem.objects.select_related("material"), code=code)
