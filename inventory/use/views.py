"""Figures of the shelf as a whole."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from inventory.shelf.settings import shelf
from inventory.use.page import figures_page


def show(request: HttpRequest) -> HttpResponse:
    """What the shelf is worth, what lies still, what runs out next."""
    page = figures_page(on=timezone.localdate(), currency=shelf().currency)
    return render(request, "inventory/use/figures.html", {"page": page})
