"""How the workroom works: its settings, rates, overhead, standard minutes and constructions."""

from django.contrib import messages
from django.forms import formset_factory
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from inventory.ground.findings import Refused
from inventory.ground.money import currency_of
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.wording import money_text
from inventory.shelf.acting import counts_once
from quotes.construction.construction_json import read_construction
from quotes.labour.standard import times_document
from quotes.models import KeptConstruction, YearlyCost
from quotes.workroom import settings as service
from quotes.workroom.construction_forms import ConstructionEditor, CopyForm
from quotes.workroom.forms import MinutesForm, OperationForm, ProductiveForm, WorkroomForm, YearlyCostForm
from quotes.workroom.rate_forms import RatesForm


@require_http_methods(["GET", "POST"])
def settings(request: HttpRequest) -> HttpResponse:
    """Name, currency, unit; and the way to everything else."""
    room = service.workroom()
    form = WorkroomForm(request.POST or None, request.FILES or None, instance=room)
    if form.is_valid():
        form.save()
        messages.success(request, "Kept.")
        return redirect("quotes:workroom")
    return render(request, "quotes/workroom/workroom.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def rates(request: HttpRequest) -> HttpResponse:
    """The rates that new quotes start from."""
    room = service.workroom()
    form = RatesForm(request.POST or None, rates=room.rates, currency=currency_of(room.currency))
    if form.is_valid():
        with RefusalsOn(form):
            service.save_rates(room, form.rates)
            messages.success(request, "Kept for quotes from now on.")
            return redirect("quotes:workroom")
    context = {"form": form, "heading": "Rates that new quotes start from"}
    return render(request, "quotes/desk/rates.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@counts_once
def overhead(request: HttpRequest) -> HttpResponse:
    """Yearly costs over productive hours: what an hour carries."""
    room = service.workroom()
    currency = currency_of(room.currency)
    Costs = formset_factory(YearlyCostForm, extra=3, max_num=60)
    initial = [
        {"what": cost.what, "amount": currency.from_minor(cost.amount_minor)} for cost in YearlyCost.objects.all()
    ]
    forms = Costs(request.POST or None, initial=initial, form_kwargs={"currency": currency})
    productive = ProductiveForm(request.POST or None, instance=room)
    if forms.is_valid() and productive.is_valid():
        costs = [form.cleaned_data for form in forms if form.cleaned_data.get("what")]
        service.save_overhead(
            room=productive.save(commit=False),
            costs=[(cost["what"], currency.to_minor(cost["amount"])) for cost in costs],
        )
        if "use" in request.POST:
            service.use_overhead_rate()
            messages.success(request, "The overhead rate is used for quotes from now on.")
        return redirect("quotes:overhead")
    context = {
        "forms": forms,
        "productive": productive,
        "total": money_text(service.yearly_total(room), room.currency),
        "rate": money_text(service.overhead_rate(), room.currency),
        "hours": round(service.hours_sold(room)),
        "used": money_text(room.rates["overhead_per_hour"], room.currency),
    }
    bad = forms.is_bound and not (forms.is_valid() and productive.is_valid())
    return render(request, "quotes/workroom/overhead.html", context, status=422 if bad else 200)


@require_http_methods(["GET", "POST"])
def minutes(request: HttpRequest) -> HttpResponse:
    """The table of standard minutes."""
    times = service.times_of(service.workroom())
    form = MinutesForm(request.POST or None, times=times)
    if form.is_valid():
        with RefusalsOn(form):
            service.set_minutes(form.document(times_document(times)))
            messages.success(request, "Kept for quotes from now on.")
            return redirect("quotes:minutes")
    return render(request, "quotes/workroom/minutes.html", {"form": form}, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
@counts_once
def add_operation(request: HttpRequest) -> HttpResponse:
    """An operation of the workroom's own; constructions may then ask for it."""
    form = OperationForm(request.POST or None)
    if form.is_valid():
        with RefusalsOn(form):
            service.add_operation(service.workroom(), form.operation)
            messages.success(request, "Added. Tick it in the constructions that need it.")
            return redirect("quotes:minutes")
    return render(request, "quotes/workroom/operation.html", {"form": form}, status=422 if form.errors else 200)


def construction_list(request: HttpRequest) -> HttpResponse:
    """All constructions."""
    constructions = service.kept_constructions()
    readable = service.readable(constructions)
    context = {
        "constructions": [(kept, readable.get(kept.code)) for kept, _ in constructions],
        "unreadable": service.unreadable(constructions),
    }
    return render(request, "quotes/workroom/constructions.html", context)


@require_http_methods(["GET", "POST"])
def construction(request: HttpRequest, code: str) -> HttpResponse:
    """One construction; shipped ones are shown, own ones changed."""
    kept = get_object_or_404(KeptConstruction, code=code)
    try:
        recipe = read_construction(kept.document)
    except Refused as refusal:
        messages.error(request, f"{kept} cannot be read: {refusal}")
        return redirect("quotes:constructions")
    editor = ConstructionEditor(request.POST or None, construction=recipe, times=service.standard_times())
    if editor.is_valid():
        if kept.is_shipped:
            raise Http404("A shipped construction is copied before it is changed.")
        with RefusalsOn(editor.measures):
            service.save_construction(kept, editor.document(kept.document))
            messages.success(request, "Kept for quotes from now on.")
            return redirect("quotes:construction", code)
    context = {"editor": editor, "kept": kept, "construction": recipe}
    return render(request, "quotes/workroom/construction.html", context, status=422 if editor.is_bound else 200)


@require_http_methods(["GET", "POST"])
@counts_once
def copy_construction(request: HttpRequest, code: str) -> HttpResponse:
    """Copy a construction under a name of the maker's own."""
    kept = get_object_or_404(KeptConstruction, code=code)
    form = CopyForm(request.POST or None, initial={"title": f"{kept.title}, mine", "code": f"my-{code}"})
    if form.is_valid():
        if KeptConstruction.objects.filter(code=form.cleaned_data["code"]).exists():
            form.add_error("code", "Another construction has this short name.")
        else:
            with RefusalsOn(form):
                copy = service.copy_construction(kept, **form.cleaned_data)
                return redirect("quotes:construction", copy.code)
    return render(
        request,
        "quotes/workroom/construction_copy.html",
        {"form": form, "kept": kept},
        status=422 if form.errors else 200,
    )
