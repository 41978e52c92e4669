"""Options of a draft: added, changed, taken out, looked into, overruled."""

from functools import partial

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.codec import Document
from inventory.ground.findings import Refused
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.maker import maker
from inventory.shelf.acting import counts_once
from inventory.stock.price_list import price_list_and_skipped
from quotes.desk.finding import get_draft, get_revision
from quotes.desk.option_forms import OptionForm
from quotes.desk.overrule_form import OverruleForm
from quotes.desk.quote_page import option_sheet
from quotes.desk.quoting import change_draft
from quotes.desk.risk_page import risk_page
from quotes.documents.wording import cautions
from quotes.models import QuoteRevision
from quotes.workroom.settings import kept_constructions, readable, unreadable, workroom


@require_http_methods(["GET", "POST"])
@counts_once
def add(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Add an option, beginning as a copy of the last."""
    revision = get_draft(request, pk, number)
    options = revision.inputs["options"]
    start = {**options[-1], "name": ""}
    taken = [option["name"] for option in options]
    return _option_page(request, revision, start, taken=taken, place=len(options))


@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, pk: int, number: int, index: int) -> HttpResponse:
    """Change an option."""
    revision = get_draft(request, pk, number)
    options = revision.inputs["options"]
    _must_have_option(revision, index)
    taken = [option["name"] for place, option in enumerate(options) if place != index]
    return _option_page(request, revision, options[index], taken=taken, place=index)


@require_POST
def remove(request: HttpRequest, pk: int, number: int, index: int) -> HttpResponse:
    """Take an option out; one remains at the least."""
    revision = get_draft(request, pk, number)
    _must_have_option(revision, index)
    others = [option for place, option in enumerate(revision.inputs["options"]) if place != index]
    try:
        change_draft(revision=revision, change=lambda inputs: {**inputs, "options": others}, user=maker(request))
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect("quotes:revision", pk, number)


def sheet(request: HttpRequest, pk: int, number: int, index: int) -> HttpResponse:
    """The workroom's sheet of one option, every line with its reason."""
    revision = get_revision(request, pk, number)
    offered = revision.snapshot.quotation.options
    if index >= len(offered):
        raise Http404("There is no such option.")
    warned = cautions("workroom", offered[index], reduction_mm=revision.snapshot.reduction_mm)
    page = option_sheet(revision.snapshot, offered[index].name, warned)
    is_draft = revision.state == QuoteRevision.State.DRAFT
    context = {"page": page, "revision": revision, "index": index, "is_draft": is_draft}
    return render(request, "quotes/desk/sheet.html", context)


def risk(request: HttpRequest, pk: int, number: int, index: int) -> HttpResponse:
    """What may become of an option at its price."""
    revision = get_revision(request, pk, number)
    if index >= len(revision.snapshot.quotation.options):
        raise Http404("There is no such option.")
    try:
        page = risk_page(revision.snapshot, index)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("quotes:sheet", pk, number, index)
    return render(request, "quotes/desk/risk.html", {"page": page, "revision": revision, "index": index})


@require_http_methods(["GET", "POST"])
def overrule(request: HttpRequest, pk: int, number: int, index: int, line: str) -> HttpResponse:
    """Put the maker's own figure in place of a computed one, or take it back."""
    revision = get_draft(request, pk, number)
    _must_have_option(revision, index)
    option = revision.inputs["options"][index]
    takeoff = revision.snapshot.quotation.options[index].takeoff
    computed = next((figure for figure in takeoff.lines if figure.code == line), None)
    if computed is None:
        raise Http404("There is no such line.")
    others = [overruled for overruled in option.get("overrules", []) if overruled["line"] != line]
    form = OverruleForm(request.POST or None)
    take_back = request.POST.get("take_back")
    if take_back or form.is_valid():
        own = [] if take_back else [{"line": line, **form.overrule}]
        options = [
            {**kept, "overrules": [*others, *own]} if place == index else kept
            for place, kept in enumerate(revision.inputs["options"])
        ]
        with RefusalsOn(form):
            change_draft(revision=revision, change=lambda inputs: {**inputs, "options": options}, user=maker(request))
            return redirect("quotes:sheet", pk, number, index)
    context = {"form": form, "revision": revision, "index": index, "line": computed}
    return render(request, "quotes/desk/overrule.html", context, status=422 if form.errors else 200)


def _option_page(
    request: HttpRequest, revision: QuoteRevision, start: Document, *, taken: list[str], place: int
) -> HttpResponse:
    is_redrawn = "redraw" in request.POST
    kept, (materials, skipped) = kept_constructions(), price_list_and_skipped()
    form_of = partial(
        OptionForm,
        constructions=readable(kept),
        materials=materials,
        language=revision.quote.client.language or workroom().language,
        taken_names=taken,
    )
    form = form_of(request.POST or None, option=start)
    if not is_redrawn and form.is_valid():
        options = list(revision.inputs["options"])
        options[place : place + 1] = [form.option]
        with RefusalsOn(form):
            change_draft(revision=revision, change=lambda inputs: {**inputs, "options": options}, user=maker(request))
            return redirect("quotes:revision", revision.quote.pk, revision.number)
    if is_redrawn:
        # Another construction has other layers: the form is drawn anew, with what was said so far.
        form = form_of(option=form.option_so_far())
    context = {
        "form": form,
        "revision": revision,
        "is_new": place == len(revision.inputs["options"]),
        "unreadable": (*unreadable(kept), *skipped),
    }
    return render(request, "quotes/desk/option.html", context, status=422 if form.errors else 200)


def _must_have_option(revision: QuoteRevision, index: int) -> None:
    if index >= len(revision.inputs["options"]):
        raise Http404("There is no such option.")
