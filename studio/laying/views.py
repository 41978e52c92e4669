"""Cloth of several jobs laid together: which want the same, how it is laid, how far that is, what was drawn, that it was cut."""

from uuid import uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRedirect, reswap, retarget

from inventory.ground.site.downloads import download
from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.htmx import HtmxRequest
from inventory.ground.units import LengthUnit
from inventory.models import StockItem
from inventory.shelf.acting import counts_once
from quotes.lay.lay_plan import Effort
from quotes.searching.asking import ask_to_stop, is_drawn_by_a_worker
from quotes.searching.worker import Worker
from quotes.workroom.settings import workroom
from studio.jobs.finding import maker
from studio.laying.asking import ask_again, ask_for, remnants_of, rolls_of
from studio.laying.booking import all_cut
from studio.laying.drawing_up import move_all_on, move_on
from studio.laying.forms import AllCutForm, LayForm
from studio.laying.page import BOOKED_RULE, RULE, cloth_rows, lay_page, lay_rows
from studio.laying.papers import joint_paper
from studio.laying.search_page import SearchPage, search_page
from studio.laying.wanting import cloths_wanted
from studio.models import JointLay, JointSearch

MOST_SHOWN = 12
_SEARCHES = "#searches"
_State = JointSearch.State


def wanted(request: HttpRequest) -> HttpResponse:
    """The cloths that open jobs want, and the lays that were drawn last."""
    lays = JointLay.objects.select_related("item__material").prefetch_related("shares__job")[:MOST_SHOWN]
    searches = JointSearch.objects.exclude(state=_State.DONE).select_related("item__material").defer("question")
    context = {"cloths": cloth_rows(cloths_wanted()), "lays": lay_rows(lays), "searches": searches[:MOST_SHOWN]}
    return render(request, "studio/laying/wanted.html", context)


@require_http_methods(["GET", "POST"])
def cloth(request: HttpRequest, item: int) -> HttpResponse:
    """Which jobs are laid together on a cloth, and how; posted, it is asked for."""
    of = get_object_or_404(StockItem.objects.select_related("material"), pk=item)
    found = next(iter(cloths_wanted(of.pk)), None)
    if found is None:
        return render(request, "studio/laying/cloth.html", {"item": of, "form": None})
    form = LayForm(
        request.POST or None,
        cloth=found,
        rolls=rolls_of(of, found.jobs),
        unit=LengthUnit(workroom().length_unit),
    )
    if form.is_valid():
        with RefusalsOn(form):
            search = ask_for(of, form.ticked(), form.wishes(), user=maker(request))
            return _begun(search)
    context = {"item": of, "form": form, "remnants": remnants_of(of, like=None), "jobs": found.jobs}
    return render(request, "studio/laying/cloth.html", context, status=422 if form.errors else 200)


@require_http_methods(["GET", "POST"])
def asked(request: HtmxRequest, search: int) -> HttpResponse:
    """How far a lay is that was asked for, until it is drawn; posted, it is stopped, drawn here, or tried again."""
    row = get_object_or_404(
        JointSearch.objects.select_related("item__material", "asked_by").defer("question"), pk=search
    )
    if request.method == "POST":
        if "again" in request.POST:
            ask_again(row, Effort(row.effort), user=maker(request))
            return _begun(row)
        page = search_page(row)
        if "stop" in request.POST:
            ask_to_stop([one.pk for one in page.searches if str(one.pk) == request.POST["stop"]])
        elif "draw" in request.POST and not is_drawn_by_a_worker(page.searches, at=timezone.now()):
            # No worker is there: the next lay is drawn here, whoever asked for it, and what comes of those that are drawn.
            Worker(wait=lambda _: False, is_over=lambda: False, beside=move_all_on, works_in_idle_time=False).step()
            row.refresh_from_db(fields=["state", "lays"])
    page = search_page(row)
    if row.state == _State.DONE:
        address = reverse("joint-lay", args=[page.best])
        return HttpResponseClientRedirect(address) if request.htmx else redirect(address)
    return _how_far(request, row, page)


def _begun(search: JointSearch) -> HttpResponse:
    """Ask for what a search lacks, or draw it up at once where nothing lacks, and go where that is seen."""
    if search.state == _State.WAITING:
        move_on(search)
    return redirect("joint-search", search.pk)


def _how_far(request: HtmxRequest, row: JointSearch, page: SearchPage) -> HttpResponse:
    is_here = row.state == _State.WAITING and not is_drawn_by_a_worker(page.searches, at=timezone.now())
    context = {"row": row, "page": page, "is_drawn_here": is_here}
    if not request.htmx:
        return render(request, "studio/laying/asked.html", context)
    if request.method == "GET" and not is_here and request.GET.get("seen") == page.seen:
        return render(request, "quotes/searching/_standing.html", {"rows": page.rows})
    return retarget(reswap(render(request, "studio/laying/_asked.html", context), "innerHTML"), _SEARCHES)


@require_POST
def longer(request: HttpRequest, lay: int) -> HttpResponse:
    """Have a drawn lay searched for longer; it stands, and one that takes less is drawn beside it."""
    row = get_object_or_404(JointLay.objects.select_related("search__item", "search__lot"), pk=lay)
    if row.search is None or row.booked_at is not None:
        return redirect("joint-lay", row.pk)
    ask_again(row.search, Effort.THOROUGH, user=maker(request))
    return _begun(row.search)


@require_http_methods(["GET", "POST"])
@counts_once
def drawn(request: HttpRequest, lay: int) -> HttpResponse:
    """A lay with what each job pays of it; posted when it was cut."""
    row = get_object_or_404(
        JointLay.objects.select_related("item__material", "lot", "booked_by", "search").defer("search__question"),
        pk=lay,
    )
    page = lay_page(row, on=timezone.localdate())
    form = AllCutForm(request.POST or None, roll_mm=page.roll_mm)
    if form.is_valid():
        with RefusalsOn(form):
            all_cut(row, roll_mm=form.cleaned_data["roll"], key=uuid4(), user=maker(request))
            messages.success(request, "It is cut: each job was issued its share.")
            return redirect("joint-lay", row.pk)
    context = {"row": row, "page": page, "form": form, "rule": BOOKED_RULE if row.booked_at else RULE}
    return render(request, "studio/laying/drawn.html", context, status=422 if form.errors else 200)


def paper(request: HttpRequest, lay: int, part: int, kind: str) -> HttpResponse:
    """The cutting sheet with full-size tiles, the plotter file or the drawing."""
    row = get_object_or_404(JointLay.objects.select_related("item__material"), pk=lay)
    data = joint_paper(row, part, kind)
    if data is None:
        raise Http404("This lay has no such part.")
    return download(data, f"lay-{row.item.code}-{row.pk}-{part + 1}.{kind}")
