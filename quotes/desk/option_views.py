"""Options of a draft: added, changed, taken out, looked into, overruled."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.findings import Refused
from inventory.ground.site.findings_form import add_refusal
from inventory.ground.site.maker import maker
from inventory.stock.price_list import price_list
from quotes.desk.finding import get_draft, get_revision
from quotes.desk.option_forms import OptionForm
from quotes.desk.overrule_form import OverruleForm
from quotes.desk.quote_page import option_sheet
from quotes.desk.quoting import change_draft
from quotes.desk.risk_page import risk_page
from quotes.documents.wording import cautions
from quotes.models import QuoteRevision
from quotes.workroom.settings import constructions


@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Add an option, beginning as a copy of the last."""
    found = get_draft(request, pk, number)
    rows = found.inputs["options"]
    start = {**rows[-1], "name": ""}
    return _option_page(request, found, start, taken=[row["name"] for row in rows], place=len(rows))


@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, pk: int, number: int, index: int) -> HttpResponse:
    """Change an option."""
    found = get_draft(request, pk, number)
    rows = found.inputs["options"]
    _known(found, index)
    taken = [row["name"] for place, row in enumerate(rows) if place != index]
    return _option_page(request, found, rows[index], taken=taken, place=index)


@require_POST
def remove(request: HttpRequest, pk: int, number: int, index: int) -> HttpResponse:
    """Take an option out; one remains at the least."""
    found = get_draft(request, pk, number)
    _known(found, index)
    rows = [row for place, row in enumerate(found.inputs["options"]) if place != index]
    try:
        change_draft(revision=found, change=lambda inputs: {**inputs, "options": rows}, user=maker(request))
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("quotes:revision", pk, number)


def sheet(request: HttpRequest, pk: int, number: int, index: int) -> HttpResponse:
    """The workroom's sheet of one option, every line with its reason."""
    found = get_revision(request, pk, number)
    offered = found.figures["quotation"]["options"]
    if index >= len(offered):
        raise Http404("There is no such option.")
    warned = cautions("workroom", offered[index], reduction_mm=found.figures["pattern"].get("reduction"))
    page = option_sheet(found.figures, offered[index]["name"], warned)
    is_draft = found.state == QuoteRevision.State.DRAFT
    context = {"page": page, "revision": found, "index": index, "is_draft": is_draft}
    return render(request, "quotes/desk/sheet.html", context)


def risk(request: HttpRequest, pk: int, number: int, index: int) -> HttpResponse:
    """What may become of an option at its price."""
    found = get_revision(request, pk, number)
    if index >= len(found.figures["quotation"]["options"]):
        raise Http404("There is no such option.")
    try:
        page = risk_page(found.figures, index)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("quotes:sheet", pk, number, index)
    return render(request, "quotes/desk/risk.html", {"page": page, "revision": found, "index": index})


@require_http_methods(["GET", "POST"])
def overrule(request: HttpRequest, pk: int, number: int, index: int, line: str) -> HttpResponse:
    """Put the maker's own figure in place of a computed one, or take it back."""
    found = get_draft(request, pk, number)
    _known(found, index)
    row = found.inputs["options"][index]
    takeoff = found.figures["quotation"]["options"][index]["takeoff"]
    computed = next((entry for entry in takeoff["lines"] if entry["code"] == line), None)
    if computed is None:
        raise Http404("There is no such line.")
    others = [entry for entry in row.get("overrules", []) if entry["line"] != line]
    form = OverruleForm(request.POST or None)
    take_back = request.POST.get("take_back")
    if take_back or form.is_valid():
        own = [] if take_back else [{"line": line, **form.overrule}]
        options = [
            {**entry, "overrules": [*others, *own]} if place == index else entry
            for place, entry in enumerate(found.inputs["options"])
        ]
        try:
            change_draft(revision=found, change=lambda inputs: {**inputs, "options": options}, user=maker(request))
        except Refused as refusal:
            add_refusal(form, refusal)
        else:
            return redirect("quotes:sheet", pk, number, index)
    context = {"form": form, "revision": found, "index": index, "line": computed}
    return render(request, "quotes/desk/overrule.html", context, status=422 if form.errors else 200)


def _option_page(
    request: HttpRequest, found: QuoteRevision, start: dict[str, Any], *, taken: list[str], place: int
) -> HttpResponse:
    is_redrawn = "redraw" in request.POST
    form = OptionForm(
        request.POST or None,
        option=start,
        constructions=constructions(),
        materials=price_list(),
        taken_names=frozenset(taken),
    )
    if not is_redrawn and form.is_valid():
        rows = list(found.inputs["options"])
        rows[place : place + 1] = [form.option]
        try:
            change_draft(revision=found, change=lambda inputs: {**inputs, "options": rows}, user=maker(request))
        except Refused as refusal:
            add_refusal(form, refusal)
        else:
            return redirect("quotes:revision", found.quote.pk, found.number)
    if is_redrawn:
        # Another construction has other layers: the form is drawn anew, with what was said so far.
        form = OptionForm(
            None,
            option=form.said_so_far(),
            constructions=constructions(),
            materials=price_list(),
            taken_names=frozenset(taken),
        )
    context = {"form": form, "revision": found, "is_new": place == len(found.inputs["options"])}
    return render(request, "quotes/desk/option.html", context, status=422 if form.errors else 200)


def _known(found: QuoteRevision, index: int) -> None:
    if index >= len(found.inputs["options"]):
        raise Http404("There is no such option.")
