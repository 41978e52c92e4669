"""The pattern table: a drawing handed in, looked at, said how it is to be taken, kept."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from inventory.ground.site.findings_form import RefusalsOn
from inventory.ground.site.htmx import HtmxRequest
from inventory.ground.site.maker import maker
from inventory.ground.units import LengthUnit
from inventory.shelf.acting import act_once, counts_once
from quotes.models import KeptPattern, PatternHandIn
from quotes.pattern.table.look import Look
from quotes.pattern.table.said import Said
from quotes.patterns.hand_ins import hand_in_of_upload, keep_hand_in, look_of, said_of, save_hand_in, say
from quotes.patterns.photograph_hand_ins import photographs_of
from quotes.patterns.table_forms import START_OVER, HandInForm, KeepForm, SaidForm
from quotes.patterns.table_page import table_page
from quotes.photograph.shown import ShownPhoto
from quotes.workroom.settings import workroom

Given = ParamSpec("Given")
TableView = Callable[Concatenate[HtmxRequest, PatternHandIn, Given], HttpResponse]


@require_http_methods(["GET", "POST"])
def hand_in(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """Hand in a drawing: as a new pattern, or as the next revision of one that is kept."""
    kept = get_object_or_404(KeptPattern, pk=pk) if pk else None
    form = HandInForm(request.POST or None, request.FILES or None)
    if form.is_valid():
        with RefusalsOn(form):
            read = hand_in_of_upload(upload=form.cleaned_data["file"], pattern=kept, user=maker(request))
            return act_once(request, lambda: redirect("quotes:pattern-table", save_hand_in(read).pk))
    context = {"form": form, "kept": kept}
    return render(request, "quotes/patterns/hand_in.html", context, status=422 if form.errors else 200)


def _of_open(view: TableView[Given]) -> Callable[..., HttpResponse]:
    """Give a view the drawing of its address, and lead from one that was kept to its pattern."""

    @wraps(view)
    def answer(request: HtmxRequest, pk: int, *args: Given.args, **kwargs: Given.kwargs) -> HttpResponse:
        found = get_object_or_404(PatternHandIn.objects.defer("document").select_related("pattern", "kept_as"), pk=pk)
        if found.kept_as is not None:
            messages.info(request, f"{found.filename} is kept as this pattern.")
            return redirect("quotes:pattern", found.kept_as.pattern_id)
        try:
            return view(request, found, *args, **kwargs)
        except PatternHandIn.DoesNotExist:
            # It was kept between the two looks at it.
            return redirect("quotes:pattern-table", pk)

    return answer


@require_http_methods(["GET", "POST"])
@_of_open
def table(request: HtmxRequest, found: PatternHandIn) -> HttpResponse:
    """See what lies on the table, and say how it is to be taken."""
    unit, said = LengthUnit(workroom().length_unit), said_of(found)
    look, photos = look_of(found, said), photographs_of(found)
    keeping = KeepForm(hand_in=found, length_unit=unit, is_photographed=bool(photos), written=_written(request))

    def shown(look: Look, form: SaidForm, *, status: int = 200) -> HttpResponse:
        return _shown(request, found, photos, look, form, keeping, unit=unit, status=status)

    if request.method != "POST":
        return shown(look, SaidForm(look=look, said=said, length_unit=unit))
    if request.POST.get("do") == START_OVER:
        said = Said()
    else:
        form = SaidForm(request.POST, look=look, said=said, length_unit=unit)
        if not form.is_valid():
            return shown(look, form, status=422)
        said = form.said
    say(found, said)
    if not request.htmx:
        return redirect("quotes:pattern-table", found.pk)
    look = look_of(found, said)
    return shown(look, SaidForm(look=look, said=said, length_unit=unit))


@require_POST
@counts_once
@_of_open
def keep(request: HtmxRequest, found: PatternHandIn) -> HttpResponse:
    """Keep what the table shows; what was said since then is shown first."""
    unit, said = LengthUnit(workroom().length_unit), said_of(found)
    look, photos = look_of(found, said), photographs_of(found)
    form = SaidForm(request.POST, look=look, said=said, length_unit=unit)
    keeping = KeepForm(request.POST, hand_in=found, length_unit=unit, is_photographed=bool(photos))
    if form.is_valid() and form.said != said:
        say(found, form.said)
        messages.warning(request, "What you said last is taken in now: look at it, then keep the pattern.")
        return redirect("quotes:pattern-table", found.pk)
    if form.is_valid() and keeping.is_valid():
        with RefusalsOn(keeping, fields={"name": "name"}):
            cleaned = keeping.cleaned_data
            revision = keep_hand_in(
                found,
                name=cleaned.get("name", ""),
                user=maker(request),
                body_waist_mm=cleaned["body_waist"],
                gap_mm=cleaned["lacing_gap"],
                keeps_photographs=cleaned.get("keeps_photographs", False),
            )
            return redirect("quotes:pattern", revision.pattern_id)
    return _shown(request, found, photos, look, form, keeping, unit=unit, status=422)


def _shown(
    request: HtmxRequest,
    found: PatternHandIn,
    photos: list[tuple[int, ShownPhoto]],
    look: Look,
    form: SaidForm,
    keeping: KeepForm,
    *,
    unit: LengthUnit,
    status: int,
) -> HttpResponse:
    page = table_page(look, form, unit=unit, photographs=photos)
    context = {"hand_in": found, "form": form, "keeping": keeping, "page": page}
    return render(request, "quotes/patterns/table.html", context, status=status)


def _written(request: HttpRequest) -> dict[str, str]:
    """What stands in the fields beside the table, to stand there again."""
    names = ("name", "body_waist", "lacing_gap", "outlines_lie_right", "keeps_photographs")
    return {name: request.POST[name] for name in names if name in request.POST}
