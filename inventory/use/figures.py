"""Figures of the shelf as a whole: what it is worth, how long it lasts, what lies still, what runs out next."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.db.models import Max, Q, Sum

from inventory.models import Movement, ReservationLine, StockItem
from inventory.reckoning.classes import Ranked, by_yearly_value
from inventory.reserving.availability import Arriving, coming
from inventory.reserving.lying import lying
from inventory.reserving.reservations import firm_lines
from inventory.use.expected_use import USE
from inventory.use.running_out import expected_use, run_out

__all__ = ["RunsOut", "ShelfFigures", "Still", "shelf_figures"]

YEAR, QUARTER = 365, 91


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
        ranked: items by the value of a year's use, by code; `names` what those items are called.
        runs_out: items that use will empty within a quarter, soonest first.
    """

    value_minor: int
    used_minor: int
    cover_days: int | None
    still: list[Still]
    still_minor: int
    tied_minor: int
    ranked: tuple[Ranked, ...]
    names: dict[str, str]
    runs_out: list[RunsOut]


def shelf_figures(*, on: date) -> ShelfFigures:
    """Return the figures as the ledger gives them on a day."""
    since = on - timedelta(days=YEAR)
    kept = StockItem.objects.select_related("material").defer("material__lengths_tenths_mm", "material__facts")
    items = {item.pk: item for item in kept}
    value = sum(item.value_minor for item in items.values())
    movements = _use_by_item(since)
    moved = {pk: last for pk, (last, _) in movements.items()}
    used_by_item = {pk: minor for pk, (_, minor) in movements.items() if minor}
    used = sum(used_by_item.values())
    lines = _firm_lines()
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
        tied_minor=_tied(items, lines),
        ranked=by_yearly_value({items[pk].code: max(0, minor) for pk, minor in used_by_item.items() if pk in items}),
        names={item.code: str(item) for item in items.values()},
        runs_out=_runs_out(items, lines, on),
    )


def _use_by_item(since: date) -> dict[int, tuple[date, int]]:
    """When each item was moved last, and what was used of it since a day, at the ledger's cost."""
    used = Sum("value_minor", filter=Q(posting__kind__in=USE, day__gte=since), default=0)
    # What corrects a cost moves nothing.
    last = Max("day", filter=~Q(quantity=0))
    moved = Movement.objects.values_list("item").annotate(last=last, used=used).order_by()
    return {item: (last, -total) for item, last, total in moved}


def _firm_lines() -> dict[int, list[ReservationLine]]:
    """What accepted work still needs, by item."""
    lines: dict[int, list[ReservationLine]] = defaultdict(list)
    for line in firm_lines().select_related("reservation"):
        lines[line.item_id].append(line)
    return lines


def _tied(items: dict[int, StockItem], lines: Mapping[int, Sequence[ReservationLine]]) -> int:
    """The value of what accepted work still needs and is there."""
    tied = Decimal(0)
    for pk, of_item in lines.items():
        item = items[pk]
        if item.there:
            total = sum(line.remaining for line in of_item)
            tied += Decimal(min(total, item.on_hand)) * item.value_minor / item.there
    return round(tied)


def _runs_out(items: dict[int, StockItem], lines: Mapping[int, Sequence[ReservationLine]], on: date) -> list[RunsOut]:
    per_week = expected_use([pk for pk, item in items.items() if not item.material.is_retired], on=on)
    arriving: dict[int, list[Arriving]] = defaultdict(list)
    for arrival in coming(per_week, on=on):
        arriving[arrival.item].append(arrival)
    there = lying(per_week)
    running_out = []
    for pk, expected in per_week.items():
        day = run_out(there[pk].usable, lines[pk], arriving[pk], per_week=expected, on=on).day
        if day is not None and (days := (day - on).days) <= QUARTER:
            running_out.append(RunsOut(item=items[pk], per_week=expected, days=days))
    return sorted(running_out, key=lambda runs_out: runs_out.days)
