"""Crumbs: looked through, unticked where they stay, swept out in one act."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.maker import maker
from inventory.shelf.acting import counts_once
from inventory.shelf.settings import shelf
from inventory.stock.crumb_forms import CrumbsForm
from inventory.stock.crumbs import crumbs_page, sweep
from inventory.stock.ledger import Act


@require_http_methods(["GET", "POST"])
@counts_once
def crumbs(request: HttpRequest) -> HttpResponse:
    """What no job can use; what is ticked is written off."""
    page = crumbs_page(currency=shelf().currency)
    form = CrumbsForm(request.POST or None, rows=page.rows)
    if form.is_valid():
        with RefusalsOn(form):
            sweep(Act(key=form.cleaned_data["key"], by=maker(request)), form.seen())
            messages.success(request, "Swept out.")
            return redirect("inventory:crumbs")
    return render(
        request, "inventory/stock/crumbs.html", {"form": form, "page": page}, status=422 if form.errors else 200
    )
