"""A material: what it is and what it costs for new quotes."""

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from inventory.ground.site.downloads import picture
from inventory.models import StockMaterial
from inventory.shelf.acting import counts_once
from inventory.stock.material_forms import MaterialForm
from inventory.stock.price_list import keep_material


@require_http_methods(["GET", "POST"])
@counts_once
def edit(request: HttpRequest, code: str | None = None) -> HttpResponse:
    """A new material, or changes to one. Quotes that were sent keep the price they were sent with."""
    material = get_object_or_404(StockMaterial, code=code) if code else None
    form = MaterialForm(request.POST or None, request.FILES or None, instance=material)
    if form.is_valid():
        kept = keep_material(form.filled(), price_source="set on the shelf", swatch=form.swatch)
        if material is None:
            messages.success(request, "Kept. Now say the facts that matter to its kind.")
            return redirect("inventory:material", kept.code)
        return redirect("inventory:item", kept.items.all()[0].code)
    return render(
        request,
        "inventory/stock/material.html",
        {"form": form, "material": material},
        status=422 if form.errors else 200,
    )


def photo(request: HttpRequest, code: str) -> FileResponse:
    """A material's photograph."""
    return picture(get_object_or_404(StockMaterial, code=code).photo)
