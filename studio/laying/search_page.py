"""A lay of several jobs that was asked for, in words: which lays it is drawn from, and how far each is."""

from collections.abc import Sequence
from dataclasses import dataclass

from inventory.ground.units import LengthUnit
from quotes.models import LaySearch
from quotes.searching.page import SearchRow, button_text, standing_text
from quotes.workroom.settings import workroom
from studio.models import JointSearch

__all__ = ["SearchPage", "search_page"]

_WAITING = LaySearch.State.WAITING


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchPage:
    """All of a search that is shown; `best` is the number of the lay that was drawn for it last, None before."""

    rows: list[SearchRow]
    seen: str
    best: int | None
    is_longer: bool
    searches: Sequence[LaySearch]


def search_page(row: JointSearch) -> SearchPage:
    """Return how far a search is, in three queries; lengths in the workroom's unit."""
    unit = LengthUnit(workroom().length_unit)
    found = LaySearch.objects.filter(key__in=row.lays, finished_at=None) | LaySearch.objects.filter(
        key__in=row.lays, finished_at__gte=row.asked_at
    )
    last = {search.key: search for search in found.defer("problem").order_by("pk")}
    searches = [last[key] for key in row.lays if key in last]
    best = row.drawn.order_by("pk").values_list("pk", flat=True).last()
    return SearchPage(
        rows=[
            SearchRow(
                number=search.pk,
                lay=row.lays[search.key],
                standing=standing_text(search, unit),
                # All of them are needed, so none that waits is left out.
                button="" if search.state == _WAITING else button_text(search),
            )
            for search in searches
        ],
        seen="-".join([row.state, *(search.state for search in searches)]),
        best=best,
        is_longer=best is not None,
        searches=searches,
    )
