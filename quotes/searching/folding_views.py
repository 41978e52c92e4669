"""Single or folded: a draft's cloths with what either way takes, drawn where that is not known, and chosen."""

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods
from django_htmx.http import HttpResponseClientRefresh

from inventory.ground.findings import Refused
from inventory.ground.site.htmx import HtmxRequest
from inventory.ground.site.maker import maker
from inventory.ground.units import LengthUnit
from quotes.desk.finding import get_draft
from quotes.desk.kept_lays import LAY_EFFORT
from quotes.desk.quoting import change_draft
from quotes.models import LaySearch
from quotes.searching.asking import ask, is_drawn_by_a_worker
from quotes.searching.folding import fold_choices, lays_of_both, with_folds
from quotes.searching.page import SearchRow, standing_text
from quotes.searching.worker import Worker
from quotes.workroom.settings import workroom

__all__ = ["folding"]


@require_http_methods(["GET", "POST"])
def folding(request: HtmxRequest, pk: int, number: int, index: int) -> HttpResponse:
    """What each cloth of an option takes laid single and folded; posted, lays are drawn, or a cloth is laid the other way."""
    revision = get_draft(request, pk, number)
    if index >= len(revision.inputs["options"]):
        raise Http404("There is no such option.")
    here = redirect("quotes:folding", pk, number, index)
    try:
        lays = lays_of_both(revision, index)
        if "cloth" in request.POST:
            cloth, is_folded = request.POST["cloth"], request.POST.get("way") == "folded"
            if cloth in revision.inputs["options"][index]["cloths"].values():
                change_draft(
                    revision=revision,
                    change=lambda inputs: with_folds(inputs, index, cloth, is_folded=is_folded),
                    user=maker(request),
                )
            return here
        under_way = LaySearch.objects.under_way().filter(key__in=lays).exclude(asked_by=None).defer("problem")
        if request.method == "POST":
            ask({key: problem for key, (_, problem) in lays.items()}, LAY_EFFORT, user=maker(request))
            return here
        if request.htmx and not is_drawn_by_a_worker(list(under_way), at=timezone.now()):
            # No worker is there: the next lay that somebody asked for is drawn here.
            Worker(wait=lambda _: False, is_over=lambda: False, works_in_idle_time=False).step()
        searches = list(under_way.all())
        if request.htmx and not searches:
            return HttpResponseClientRefresh()
        unit = LengthUnit(workroom().length_unit)
        rows = [
            SearchRow(number=one.pk, lay=lays[one.key][0], standing=standing_text(one, unit), button="")
            for one in searches
        ]
        if request.htmx:
            return render(request, "quotes/searching/_standing.html", {"rows": rows})
        choices = fold_choices(revision, index)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("quotes:sheet", pk, number, index)
    context = {
        "revision": revision,
        "index": index,
        "name": revision.inputs["options"][index]["name"],
        "choices": choices,
        "rows": rows,
        "lacks": any(not way.is_drawn for choice in choices for way in choice.ways),
    }
    return render(request, "quotes/searching/folding.html", context)
