"""Suppliers and their offers."""

from django.contrib import messages
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.site.exporting import exported
from inventory.ground.site.paging import turn_to_page
from inventory.models import Offer, StockItem, Supplier
from inventory.shelf.acting import counts_once
from inventory.shelf.settings import shelf
from inventory.suppliers.forms import OfferForm, SupplierForm
from inventory.suppliers.tables import SupplierTable
from inventory.suppliers.terms import actual_lead, expected_on, offer_words


def listing(request: HttpRequest) -> HttpResponse:
    """All suppliers that are bought from."""
    suppliers = Supplier.objects.filter(is_retired=False).annotate(offer_count=Count("offers")).order_by("name")
    table = SupplierTable(suppliers, empty_text="No supplier yet. Add those you buy from, then what they offer.")
    turn_to_page(table, request)
    return exported(table, request, name="suppliers") or render(
        request, "inventory/suppliers/suppliers.html", {"table": table}
    )


def show(request: HttpRequest, code: str) -> HttpResponse:
    """One supplier: what it offers, how fast it really is."""
    supplier = get_object_or_404(Supplier, code=code)
    offers = supplier.offers.select_related("item__material", "supplier").order_by("item__material__name", "item")
    context = {
        "supplier": supplier,
        "offers": [(offer, *offer_words(offer)) for offer in offers],
        "arrives": expected_on(supplier, ordered_on=timezone.localdate()),
        "actual": actual_lead(supplier),
        "orders": supplier.orders.prefetch_related("lines")[:10],
    }
    return render(request, "inventory/suppliers/supplier.html", context)


@require_http_methods(["GET", "POST"])
@counts_once
def edit(request: HttpRequest, code: str | None = None) -> HttpResponse:
    """A new supplier, or changes to one."""
    supplier = get_object_or_404(Supplier, code=code) if code else None
    form = SupplierForm(request.POST or None, instance=supplier, home=shelf().currency)
    if form.is_valid():
        return redirect("inventory:supplier", form.save().code)
    context = {"form": form, "supplier": supplier}
    return render(request, "inventory/suppliers/supplier_form.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@counts_once
def offer(request: HttpRequest, code: str, pk: int | None = None) -> HttpResponse:
    """A new offer, or changes to one. Orders that were made keep their prices."""
    supplier = get_object_or_404(Supplier, code=code)
    known = get_object_or_404(Offer, pk=pk, supplier=supplier) if pk else None
    wanted = StockItem.objects.filter(code=request.GET.get("item", "")).first()
    form = OfferForm(
        request.POST or None,
        instance=known,
        supplier=supplier,
        initial={"item": wanted} if wanted and not known else None,
    )
    if form.is_valid():
        form.save()
        messages.success(request, "Kept.")
        return redirect("inventory:supplier", code)
    context = {"form": form, "supplier": supplier, "offer": known}
    return render(request, "inventory/suppliers/offer.html", context, status=422 if form.errors else 200)


@require_POST
def remove_offer(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    """Take an offer away; orders that came from it stay."""
    get_object_or_404(Offer, pk=pk, supplier__code=code).delete()
    return redirect("inventory:supplier", code)
