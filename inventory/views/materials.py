"""The shelf: materials and what they cost today."""

from collections import defaultdict

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from inventory.forms.materials import MaterialForm
from inventory.models import StockMaterial


def listing(request: HttpRequest) -> HttpResponse:
    """All materials by kind."""
    by_kind: dict[str, list[StockMaterial]] = defaultdict(list)
    for row in StockMaterial.objects.all():
        by_kind[row.get_kind_display()].append(row)
    return render(request, "inventory/materials.html", {"kinds": list(by_kind.items())})


@require_http_methods(["GET", "POST"])
def edit(request: HttpRequest, code: str | None = None) -> HttpResponse:
    """A new material, or changes to one. Quotes that were sent keep the price they were sent with."""
    row = get_object_or_404(StockMaterial, code=code) if code else None
    form = MaterialForm(request.POST or None, instance=row)
    if form.is_valid():
        form.save()
        return redirect("inventory:materials")
    return render(request, "inventory/material.html", {"form": form, "row": row}, status=422 if form.errors else 200)
