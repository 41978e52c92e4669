"""Crumbs swept out: what no job can use, listed with what it is worth, and written off in one act."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from django.db import transaction

from inventory.ground.findings import refuse
from inventory.ground.measures import quantity_text
from inventory.ground.wording import minor_text
from inventory.models import Lot, Posting, StockItem
from inventory.reckoning.crumbs import CRUMB
from inventory.reserving.lying import crumb_lots
from inventory.stock.ledger import Act, sweep_out

__all__ = ["CrumbRow", "CrumbsPage", "crumbs_page", "sweep"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CrumbRow:
    """A rest as a row; `choice` names it together with how much of it was seen."""

    lot: Lot
    choice: str
    quantity: str
    worth: str
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CrumbsPage:
    """All rests that no job can use, and what they are worth together at average cost."""

    rows: list[CrumbRow]
    worth: str


def crumbs_page(*, currency: str) -> CrumbsPage:
    """Return the crumbs of the shelf."""
    lots = crumb_lots()
    worth = [lot.item.worth_minor(lot.on_hand, currency) for lot in lots]
    return CrumbsPage(
        rows=[
            CrumbRow(
                lot=lot,
                choice=f"{lot.pk}:{lot.on_hand}",
                quantity=lot.remnant_size or quantity_text(lot.on_hand, lot.item.unit),
                worth=minor_text(minor, currency),
                place=lot.place or lot.item.place,
            )
            for lot, minor in zip(lots, worth, strict=True)
        ],
        worth=minor_text(sum(worth), currency),
    )


@transaction.atomic
def sweep(act: Act, seen: Mapping[int, int]) -> Posting:
    """Write crumbs off in one posting, as scrap of that cause.

    Args:
        seen: by lot, what it held when the list was opened.

    Raises:
        Refused: one of them holds something else by now, or work can use it again.
    """
    # Locked before they are judged, so that nothing is kept from them meanwhile.
    of_lots = Lot.objects.filter(pk__in=seen).values("item")
    list(StockItem.objects.select_for_update().filter(pk__in=of_lots).order_by("pk"))
    lots = [lot for lot in crumb_lots() if seen.get(lot.pk) == lot.on_hand]
    if len(lots) < len(seen):
        raise refuse(
            "crumbs.changed", "crumbs", "What lies there has changed since the list was opened.", "Look at it again."
        )
    return sweep_out(replace(act, why=f"{CRUMB}: no job can use it", cause=CRUMB), lots)
