"""Orders: drafted, placed, received in parts, and their papers."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.db.models import F, Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from inventory.buying import purchasing
from inventory.buying.charges import correct_order
from inventory.buying.filters import OrderFilter
from inventory.buying.order_forms import NewDayForm, NewOrderForm, OrderCostForm, OrderLinesForm, ReceiveOrderForm
from inventory.buying.order_page import landed_prices, order_page
from inventory.buying.purchase_order import order_csv, order_facts, order_pdf, order_workbook
from inventory.buying.tables import OrderTable
from inventory.ground.findings import Refused
from inventory.ground.site.downloads import download
from inventory.ground.site.exporting import exported
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.maker import maker
from inventory.ground.site.paging import turn_to_page
from inventory.models import PurchaseLine, PurchaseOrder
from inventory.shelf.acting import counts_once
from inventory.shelf.settings import shelf, studio_currency
from inventory.stock.ledger import Act


def listing(request: HttpRequest) -> HttpResponse:
    """All orders, last first."""
    orders = (
        PurchaseOrder.objects.select_related("supplier")
        .prefetch_related("lines")
        .annotate(goods_minor=Sum(F("lines__packs") * F("lines__price_minor")))
    )
    narrowed = OrderFilter(request.GET, queryset=orders.order_by("-number"))
    table = OrderTable(narrowed.qs, on=timezone.localdate(), empty_text="No order stands here.")
    turn_to_page(table, request)
    return exported(table, request, name="orders") or render(
        request, "inventory/buying/orders.html", {"filter": narrowed, "table": table}
    )


@require_http_methods(["GET", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    """Choose the supplier, then say what."""
    form = NewOrderForm(request.POST or None)
    if form.is_valid():
        supplier = form.cleaned_data["supplier"]
        lines = OrderLinesForm(request.POST if "lines" in request.POST else None, supplier=supplier)
        if lines.is_valid():
            with RefusalsOn(lines):
                order = purchasing.draft_order(
                    supplier,
                    lines.wishes(),
                    user=maker(request),
                    on=timezone.localdate(),
                    key=lines.cleaned_data["key"],
                )
                return redirect("inventory:order", order.number)
        context = {"form": lines, "supplier": supplier, "heading": f"Order from {supplier}"}
        return render(request, "inventory/buying/order_lines.html", context, status=422 if lines.errors else 200)
    return render(request, "inventory/buying/order_new.html", {"form": form}, status=422 if form.errors else 200)


def show(request: HttpRequest, number: int) -> HttpResponse:
    """One order: its lines, what has come, what it cost landed."""
    return _shown(request, _order(number), NewDayForm())


@require_POST
@counts_once
def new_day(request: HttpRequest, number: int) -> HttpResponse:
    """Expect it on another day."""
    order, form = _order(number), NewDayForm(request.POST)
    if form.is_valid():
        with RefusalsOn(form, fields={"day": "day"}):
            purchasing.write_new_day(
                order,
                form.cleaned_data["day"],
                by=maker(request),
                on=timezone.localdate(),
                why=form.cleaned_data["why"],
            )
            return redirect("inventory:order", number)
    return _shown(request, order, form)


@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, number: int) -> HttpResponse:
    """Other packs in a draft."""
    order = _order(number)
    form = OrderLinesForm(request.POST or None, supplier=order.supplier, order=order)
    if form.is_valid():
        with RefusalsOn(form):
            purchasing.keep_lines(order, form.wishes(), version=form.cleaned_data["version"], dropped=form.dropped())
            return redirect("inventory:order", number)
    context = {"form": form, "supplier": order.supplier, "order": order, "heading": str(order)}
    return render(request, "inventory/buying/order_lines.html", context, status=422 if form.errors else 200)


@require_POST
def place(request: HttpRequest, number: int) -> HttpResponse:
    """Count it as ordered."""
    return _decided(request, number, "Placed. It is expected from now on.", purchasing.place, on=timezone.localdate())


@require_POST
def cancel(request: HttpRequest, number: int) -> HttpResponse:
    """Cancel it."""
    return _decided(request, number, "Cancelled.", purchasing.cancel)


@require_POST
def close_line(request: HttpRequest, number: int, pk: int) -> HttpResponse:
    """Expect nothing more of a line."""
    line = get_object_or_404(PurchaseLine.objects.select_related("order"), pk=pk, order__number=number)
    try:
        purchasing.close_line(line, on=timezone.localdate(), by=maker(request))
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("inventory:order", number)


@require_http_methods(["GET", "POST"])
def receive(request: HttpRequest, number: int) -> HttpResponse:
    """Say what came, in which lots, at what freight and duty."""
    order = _order(number)
    currency = studio_currency()
    form = ReceiveOrderForm(request.POST or None, order=order, currency=currency)
    if form.is_valid():
        cleaned = form.cleaned_data
        with RefusalsOn(form):
            purchasing.take_in(
                Act(key=cleaned["key"], by=maker(request), why=str(order), day=cleaned["received_on"]),
                order,
                form.arrived(),
                freight_minor=currency.to_minor(cleaned["freight"]),
                duty_minor=currency.to_minor(cleaned["duty"]),
                takes_more=cleaned["more"],
            )
            messages.success(request, "On the shelf.")
            return redirect("inventory:order", number)
    context = {"form": form, "order": order}
    return render(request, "inventory/buying/order_receive.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def cost(request: HttpRequest, number: int) -> HttpResponse:
    """Say what it cost in the end: an invoice that came after the goods, a credit, freight told later."""
    order = _order(number)
    form = OrderCostForm(request.POST or None, order=order, currency=studio_currency())
    if form.is_valid():
        cleaned = form.cleaned_data
        with RefusalsOn(form):
            correct_order(Act(key=cleaned["key"], by=maker(request), why=cleaned["why"]), order, form.costs())
            messages.success(request, "What it cost is corrected.")
            return redirect("inventory:order", number)
    context = {"form": form, "order": order}
    return render(request, "inventory/buying/order_cost.html", context, status=422 if form.errors else 200)


def as_pdf(request: HttpRequest, number: int) -> HttpResponse:
    """The order as a letter."""
    return download(order_pdf(order_facts(_order(number), shelf())), f"order-{number}.pdf")


def as_xlsx(request: HttpRequest, number: int) -> HttpResponse:
    """The order as a workbook."""
    return download(order_workbook(order_facts(_order(number), shelf())), f"order-{number}.xlsx")


def as_csv(request: HttpRequest, number: int) -> HttpResponse:
    """The order as a table of text."""
    return download(order_csv(order_facts(_order(number), shelf())), f"order-{number}.csv")


def _decided(
    request: HttpRequest, number: int, words: str, decide: Callable[..., None], **arguments: Any
) -> HttpResponse:
    order = _order(number)
    try:
        decide(order, **arguments)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, words)
    return redirect("inventory:order", number)


def _shown(request: HttpRequest, order: PurchaseOrder, new_day_form: NewDayForm) -> HttpResponse:
    home = shelf().currency
    context = {
        "order": order,
        "page": order_page(order, on=timezone.localdate(), home=home),
        "landed": landed_prices(order, home=home),
        "new_day": new_day_form,
    }
    return render(request, "inventory/buying/order.html", context, status=422 if new_day_form.errors else 200)


def _order(number: int) -> PurchaseOrder:
    return get_object_or_404(PurchaseOrder.objects.select_related("supplier"), number=number)
