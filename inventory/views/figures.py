"""Figures of the shelf as a whole."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from inventory.pages.figures import figures_page
from inventory.services.shelf import shelf


def show(request: HttpRequest) -> HttpResponse:
    """What the shelf is worth, what lies still, what runs out next."""
    page = figures_page(on=timezone.localdate(), currency=shelf().currency)
    return render(request, "inventory/figures.html", {"page": page})
