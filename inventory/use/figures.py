"""Figures of the shelf as a whole: what it is worth, how long it lasts, what lies still, what runs out next."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import F, Max, Sum

from inventory.ground.defaults import shelf_defaults
from inventory.models import Movement, StockItem
from inventory.reckoning.classes import Ranked, by_yearly_value
from inventory.replenish.forecast import syntetos_boylan
from inventory.reserving.reservations import firm_lines
from inventory.use.expected_use import USE, uses

__all__ = ["RunsOut", "ShelfFigures", "Still", "shelf_figures"]

YEAR, QUARTER = 365, 91
WEEKS = 52


@dataclass(frozen=True, slots=True, kw_only=True)
class Still:
    """An item that has not been moved for a year."""

    item: StockItem
    last_moved: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunsOut:
    """An item that its use will empty; `days` from now."""

    item: StockItem
    per_week: float
    days: int

    @property
    def in_four_weeks(self) -> int:
        """What is expected to be used in four weeks, in whole base units."""
        return round(4 * self.per_week)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfFigures:
    """Money in minor units.

    Attributes:
        used_minor: what a year's issues and scrap were worth, less returns.
        cover_days: value ÷ a year's use, in days; None where nothing was used.
        still: items whose stock has not moved for a year, dearest first.
        tied_minor: the value of what accepted work has reserved, at average cost.
        ranked: items by the value of a year's use, by code.
        runs_out: items that use will empty within a quarter, soonest first.
    """

    value_minor: int
    used_minor: int
    cover_days: int | None
    still: list[Still]
    still_minor: int
    tied_minor: int
    ranked: tuple[Ranked, ...]
    runs_out: list[RunsOut]


def shelf_figures(*, on: date) -> ShelfFigures:
    """Return the figures as the ledger gives them on a day."""
    since = on - timedelta(days=YEAR)
    kept = StockItem.objects.select_related("material").defer("material__lengths_tenths_mm", "material__facts")
    items = {item.pk: item for item in kept}
    value = sum(item.value_minor for item in items.values())
    used_by_item = _use_by_item(since)
    used = sum(used_by_item.values())
    moved = dict(Movement.objects.values_list("item").annotate(last=Max("day")).order_by())
    still = [
        Still(item=item, last_moved=moved.get(pk))
        for pk, item in items.items()
        if item.value_minor and (moved.get(pk) is None or moved[pk] < since)
    ]
    still.sort(key=lambda unmoved: -unmoved.item.value_minor)
    return ShelfFigures(
        value_minor=value,
        used_minor=used,
        cover_days=round(value * YEAR / used) if used > 0 else None,
        still=still,
        still_minor=sum(unmoved.item.value_minor for unmoved in still),
        tied_minor=_tied(items),
        ranked=by_yearly_value({items[pk].code: max(0, minor) for pk, minor in used_by_item.items() if pk in items}),
        runs_out=_runs_out(items, on),
    )


def _use_by_item(since: date) -> dict[int, int]:
    """What was used of each item since a day, at the ledger's cost."""
    movements = Movement.objects.filter(posting__kind__in=USE, day__gte=since)
    return {item: -total for item, total in movements.values_list("item").annotate(total=Sum("value_minor")).order_by()}


def _tied(items: dict[int, StockItem]) -> int:
    """The value of what accepted work still needs and is there."""
    lines = firm_lines().values_list("item").annotate(total=Sum(F("quantity") - F("issued")))
    tied = Decimal(0)
    for pk, total in lines:
        item = items[pk]
        if item.there:
            tied += Decimal(min(total, item.on_hand)) * item.value_minor / item.there
    return round(tied)


def _runs_out(items: dict[int, StockItem], on: date) -> list[RunsOut]:
    running_out = []
    smoothing = shelf_defaults().forecast.smoothing_share
    for pk, series in uses(until=on - timedelta(days=1), weeks=WEEKS).items():
        item = items[pk]
        per_week = syntetos_boylan(series, smoothing)
        if per_week > 0 and (days := int(item.on_hand / per_week * 7)) <= QUARTER:
            running_out.append(RunsOut(item=item, per_week=per_week, days=days))
    return sorted(running_out, key=lambda runs_out: runs_out.days)
