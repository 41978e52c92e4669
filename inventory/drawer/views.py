"""The drawer at one look."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from inventory.drawer.contents import bones, drawer
from inventory.drawer.forms import DrawerForm
from inventory.drawer.page import drawer_parts, length_words
from inventory.ground.materials import BONES


@require_safe
def show(request: HttpRequest) -> HttpResponse:
    """How many bones lie there by length and form; with a length, those that are nearest to it."""
    form = DrawerForm(request.GET or None)
    asked = form.cleaned_data if form.is_valid() else {}
    kind, length_mm = asked.get("kind"), asked.get("length")
    items = bones([kind] if kind else BONES)
    parts = drawer_parts(drawer(items, on=timezone.localdate()), items, length_mm=length_mm)
    context = {"form": form, "parts": parts, "sought": length_words(length_mm) if length_mm else ""}
    return render(request, "inventory/drawer/drawer.html", context, status=422 if form.errors else 200)
