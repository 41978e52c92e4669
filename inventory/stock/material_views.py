"""A material: what it is and what it costs for new quotes."""

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.materials import BONES
from inventory.ground.site.downloads import picture
from inventory.models import StockMaterial
from inventory.shelf.acting import counts_once
from inventory.stock.bone_prices_forms import AddBonesForm, BonePricesForm
from inventory.stock.material_forms import MaterialForm
from inventory.stock.price_list import keep_bone_form, keep_bone_prices, keep_material


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
    return _material_page(request, material, form)


@require_POST
def add_bones(request: HttpRequest, code: str) -> HttpResponse:
    """A further form of a bone in some lengths; those that are there already get the price."""
    material = _bone(code)
    form = AddBonesForm(request.POST, material=material)
    if not form.is_valid():
        return _material_page(request, material, MaterialForm(instance=material), add=form)
    cleaned = form.cleaned_data
    kept = keep_bone_form(material, cleaned["form"], cleaned["lengths"], cleaned["unit_cost"])
    messages.success(request, f"Kept: {', '.join(str(item) for item in kept)}.")
    return redirect(f"{reverse('inventory:material', args=[code])}#forms")


@require_POST
def bone_prices(request: HttpRequest, code: str) -> HttpResponse:
    """What one costs in each form and length."""
    material = _bone(code)
    form = BonePricesForm(request.POST, material=material)
    if not form.is_valid():
        return _material_page(request, material, MaterialForm(instance=material), prices=form)
    keep_bone_prices(material, form.prices)
    messages.success(request, "The prices are kept. Quotes that were sent keep those that they were sent with.")
    return redirect(f"{reverse('inventory:material', args=[code])}#forms")


def _bone(code: str) -> StockMaterial:
    return get_object_or_404(StockMaterial, code=code, kind__in=BONES)


def _material_page(
    request: HttpRequest,
    material: StockMaterial | None,
    form: MaterialForm,
    *,
    add: AddBonesForm | None = None,
    prices: BonePricesForm | None = None,
) -> HttpResponse:
    context: dict[str, object] = {"form": form, "material": material}
    if material is not None and material.bone_form is not None:
        context["add"] = add or AddBonesForm(material=material)
        context["prices"] = prices or BonePricesForm(material=material)
    is_wrong = form.errors or add is not None or prices is not None
    return render(request, "inventory/stock/material.html", context, status=422 if is_wrong else 200)


def photo(request: HttpRequest, code: str) -> FileResponse:
    """A material's photograph."""
    return picture(get_object_or_404(StockMaterial, code=code).photo)
