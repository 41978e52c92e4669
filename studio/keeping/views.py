"""Copies of the books: how old the last one is, which are kept, how one is brought back."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from studio.keeping.page import copies_page


def copies(request: HttpRequest) -> HttpResponse:
    """What is kept, and the ways to copy, bring back and take along."""
    return render(request, "studio/keeping/copies.html", {"page": copies_page(on=timezone.now())})
