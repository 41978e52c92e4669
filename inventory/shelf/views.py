"""The shelf's settings."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from inventory.ground.money import currency_of
from inventory.ground.pictures import PICTURE_TYPES
from inventory.ground.site.findings_form import RefusalsOn
from inventory.reckoning.valuation import Method
from inventory.shelf.forms import ShelfForm
from inventory.shelf.pictures import kept_pictures
from inventory.shelf.settings import set_method, shelf


@require_http_methods(["GET", "POST"])
def settings(request: HttpRequest) -> HttpResponse:
    """Valuation, holding, remnants."""
    current = shelf()
    form = ShelfForm(request.POST or None, instance=current)
    if form.is_valid():
        with RefusalsOn(form, fields={"method": "method"}):
            set_method(Method(form.cleaned_data["method"]))
            form.save()
            messages.success(request, "Kept.")
            return redirect("inventory:settings")
    context = {"form": form, "currency": currency_of(current.currency).code}
    return render(request, "inventory/shelf/settings.html", context, status=422 if form.errors else 200)


def picture(request: HttpRequest, digest: str) -> HttpResponse:
    """A kept picture; under its digest it never changes."""
    found = kept_pictures([digest]).get(digest)
    if found is None:
        raise Http404("There is no such picture.")
    return HttpResponse(
        found.data,
        content_type=PICTURE_TYPES[found.kind],
        headers={
            "Cache-Control": "private, max-age=31536000, immutable",
            "Content-Security-Policy": "sandbox; default-src 'none'",
        },
    )
