"""The lays of a draft: drawn by the worker and looked at meanwhile, or drawn at once where no worker is there."""

import re
from collections.abc import Collection, Mapping, Sequence

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods
from django_htmx.http import HTMX_STOP_POLLING, HttpResponseClientRefresh, reswap, retarget

from inventory.ground.findings import Refused
from inventory.ground.site.maker import maker
from quotes.commission.commission import Commission
from quotes.commission.quote import LayKey, option_lays
from quotes.desk.figures import commission_of
from quotes.desk.finding import get_draft
from quotes.desk.kept_lays import AT_ONCE, LAY_EFFORT, draw_next, kept_lays, lay_key, lays_of
from quotes.desk.quoted_lays import is_shorter_than_quoted
from quotes.desk.quoting import change_draft
from quotes.lay.lay_plan import Effort, LayProblem
from quotes.models import LaySearch, QuoteRevision
from quotes.models.lays import SearchQuerySet
from quotes.seal.snapshot import Snapshot
from quotes.searching.asking import ask, ask_to_stop, is_drawn_by_a_worker
from quotes.searching.page import moved_text, search_rows, shorter_rows, undrawn_text

__all__ = ["lays"]

_LAYS = "#lays"
_NUMBER = re.compile(r"\d{1,18}", re.ASCII)
_OF = re.compile(rf"({_NUMBER.pattern}) (\d{{1,3}}) ([-\w]+)", re.ASCII)


@require_http_methods(["GET", "POST"])
def lays(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Ask for the lays of a draft, or see how far they are.

    GET says what there is to say of them when the page is opened, and how far the searches are that it names by `search`.
    POST asks for those that are lacking, `longer` for shorter ones; with `stop` it stops one, with `take` the draft is worked
    out with the lays that are kept. Where no worker is there, each answer draws some and asks for the next ones, and the
    first one, `begin`, comes before any is drawn.
    """
    revision = get_draft(request, pk, number)
    asked = _asked(request, revision)
    if request.method == "GET":
        return _how_far(request, revision, asked) if asked else _opened(request, revision)
    if "take" in request.POST:
        return _taken(request, revision, has_failed=_found(asked).filter(state=LaySearch.State.FAILED).exists())
    if _NUMBER.fullmatch(stop := request.POST.get("stop", "")):
        ask_to_stop([int(stop)])
        return _progress(request, revision, asked)
    return _drawn(request, revision)


def _drawn(request: HttpRequest, revision: QuoteRevision) -> HttpResponse:
    """Have the lays drawn that are lacking: by the worker, else here and now, some at a time."""
    commission = commission_of(revision.inputs, revision.pattern)
    effort = Effort.THOROUGH if "longer" in request.POST else LAY_EFFORT
    problems = option_lays(commission)
    keys = {lay_key(problem): problem for problem in problems.values()}
    under_way = _under_way(keys)
    if is_drawn_by_a_worker(under_way, at=timezone.now()):
        asked = _by_number(ask(keys, effort, user=maker(request)), problems)
        return _progress(request, revision, asked) if asked else _taken(request, revision)
    return _drawn_here(request, revision, commission, effort)


def _drawn_here(request: HttpRequest, revision: QuoteRevision, commission: Commission, effort: Effort) -> HttpResponse:
    failed = frozenset(request.POST.getlist("failed"))
    at_once = 0 if "begin" in request.POST else AT_ONCE
    progress = draw_next(commission, effort=effort, at_once=at_once, failed=failed)
    if progress.is_over:
        return _taken(request, revision, has_failed=bool(progress.undrawn))
    context = {"revision": revision, "progress": progress, "is_longer": effort is Effort.THOROUGH}
    return render(request, "quotes/searching/_drawing.html", context)


def _opened(request: HttpRequest, revision: QuoteRevision) -> HttpResponse:
    """The searches that are under way for a draft, or the lays that came out shorter since it was worked out."""
    try:
        problems = option_lays(commission_of(revision.inputs, revision.pattern))
    except Refused:
        return reswap(HttpResponse(), "none")
    under_way = _under_way({lay_key(problem) for problem in problems.values()})
    if under_way and is_drawn_by_a_worker(under_way, at=timezone.now()):
        return retarget(_progress(request, revision, _by_number(under_way, problems)), _LAYS)
    options = revision.snapshot.quotation.options
    shorter = {
        key: plan.length
        for key, plan in kept_lays(problems).items()
        if is_shorter_than_quoted(plan, options[key.option], key.cloth)
    }
    if not shorter:
        return reswap(HttpResponse(), "none")
    context = {"revision": revision, "rows": shorter_rows(shorter, revision.snapshot)}
    return render(request, "quotes/searching/_shorter.html", context)


def _how_far(request: HttpRequest, revision: QuoteRevision, asked: Mapping[int, list[LayKey]]) -> HttpResponse:
    """How far searches are; all of it anew where one is in another state than when the page was written."""
    searches = list(_found(asked))
    if all(search.is_over for search in searches):
        answer = render(request, "quotes/searching/_over.html", _context(revision, asked), status=HTMX_STOP_POLLING)
        return retarget(reswap(answer, "innerHTML"), _LAYS)
    if not is_drawn_by_a_worker(searches, at=timezone.now()):
        context = {**_context(revision, asked), "is_longer": any(row.effort == Effort.THOROUGH for row in searches)}
        answer = render(request, "quotes/searching/_again.html", context, status=HTMX_STOP_POLLING)
        return retarget(reswap(answer, "innerHTML"), _LAYS)
    if request.GET.get("seen") != _states(searches):
        return retarget(reswap(_progress(request, revision, asked), "innerHTML"), _LAYS)
    context = {"rows": search_rows(searches, asked, revision.snapshot)}
    return render(request, "quotes/searching/_standing.html", context)


def _progress(request: HttpRequest, revision: QuoteRevision, asked: Mapping[int, list[LayKey]]) -> HttpResponse:
    return render(request, "quotes/searching/_progress.html", _context(revision, asked))


def _context(revision: QuoteRevision, asked: Mapping[int, list[LayKey]]) -> dict[str, object]:
    searches = list(_found(asked))
    return {
        "revision": revision,
        "rows": search_rows(searches, asked, revision.snapshot),
        "seen": _states(searches),
        "asked": [f"{number} {key.option} {key.cloth}" for number, keys in asked.items() for key in keys],
    }


def _taken(request: HttpRequest, revision: QuoteRevision, *, has_failed: bool = False) -> HttpResponse:
    """Work the draft out with the lays that are kept, and say what that did to its prices."""
    try:
        before, after = _worked_out(request, revision)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        if moved := moved_text(before, after):
            messages.success(request, moved)
    if has_failed:
        problems = lays_of(commission_of(revision.inputs, revision.pattern))
        if undrawn := len(problems) - len(kept_lays(problems)):
            messages.error(request, undrawn_text(undrawn, len(problems)))
    return HttpResponseClientRefresh()


def _worked_out(request: HttpRequest, revision: QuoteRevision) -> tuple[Snapshot, Snapshot]:
    """The figures before and after; once more where another window took the lays at the same moment. Raises Refused."""
    before = revision.snapshot
    try:
        return before, change_draft(revision=revision, user=maker(request)).snapshot
    except Refused:
        revision.refresh_from_db()
        return revision.snapshot, change_draft(revision=revision, user=maker(request)).snapshot


def _states(searches: Sequence[LaySearch]) -> str:
    """In which states searches are, in one word."""
    return "-".join(search.state for search in searches)


def _under_way(keys: Collection[str]) -> list[LaySearch]:
    """The searches for lays, by their keys, that somebody waits for."""
    return list(LaySearch.objects.under_way().filter(key__in=keys).exclude(asked_by=None))


def _found(asked: Mapping[int, Sequence[LayKey]]) -> SearchQuerySet:
    return LaySearch.objects.filter(pk__in=asked)


def _asked(request: HttpRequest, revision: QuoteRevision) -> dict[int, list[LayKey]]:
    """The lays that each search is for which a request names, by its number. Raises Http404 for what names none."""
    given = (request.POST if request.method == "POST" else request.GET).getlist("search")
    options = len(revision.snapshot.quotation.options)
    asked: dict[int, list[LayKey]] = {}
    for words in given:
        named = _OF.fullmatch(words)
        if named is None:
            raise Http404("No search is named so.")
        keys = asked.setdefault(int(named[1]), [])
        # An option may have been taken out meanwhile.
        if int(named[2]) < options:
            keys.append(LayKey(int(named[2]), named[3]))
    return asked


def _by_number(searches: Sequence[LaySearch], problems: Mapping[LayKey, LayProblem]) -> dict[int, list[LayKey]]:
    """The lays that each search is for, by its number."""
    numbers = {search.key: search.pk for search in searches}
    asked: dict[int, list[LayKey]] = {}
    for name, problem in problems.items():
        if (number := numbers.get(lay_key(problem))) is not None:
            asked.setdefault(number, []).append(name)
    return asked
