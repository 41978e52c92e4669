"""The shopping list: looked at, taken along on paper or the phone, and received from."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from inventory.buying.shopping import receive_bought, to_buy
from inventory.buying.shopping_forms import ChooseForm, ShoppingForm
from inventory.buying.shopping_page import RULE, shopping_pdf, shopping_row
from inventory.ground.money import currency_of
from inventory.ground.site.downloads import download
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.maker import maker
from inventory.shelf.acting import counts_once
from inventory.shelf.settings import shelf, studio_currency
from inventory.stock.ledger import Act


@require_http_methods(["GET", "POST"])
@counts_once
def show(request: HttpRequest) -> HttpResponse:
    """What to buy, up to which price; what is ticked off is received in one act."""
    currency = studio_currency()
    form = ShoppingForm(
        request.POST or None, rows=to_buy(request.GET.getlist("item"), home=currency), currency=currency
    )
    if form.is_valid():
        cleaned = form.cleaned_data
        with RefusalsOn(form):
            act = Act(key=cleaned["key"], by=maker(request), why="Shopping list", day=cleaned["bought_on"])
            receive_bought(act, form.bought(), supplier=cleaned["supplier"], new_place=cleaned["new_place"])
            messages.success(request, "On the shelf.")
            return redirect("inventory:shopping")
    context = {
        "form": form,
        "rows": [(shopping_row(row, currency.code), *fields) for row, *fields in form.rows()],
        "choose": ChooseForm(initial={"item": request.GET.getlist("item")}),
        "rule": RULE,
        "asked": request.GET.urlencode(),
    }
    return render(request, "inventory/buying/shopping.html", context, status=422 if form.errors else 200)


@require_safe
def as_pdf(request: HttpRequest, paper: str) -> HttpResponse:
    """The list on paper."""
    settings = shelf()
    rows = to_buy(request.GET.getlist("item"), home=currency_of(settings.currency))
    data = shopping_pdf(rows, currency=settings.currency, workroom=settings.name, on=timezone.localdate(), paper=paper)
    return download(data, f"shopping-list-{paper}.pdf")
