"""What the ledger leads one to expect: use over lead time and cover, and the reserve that each item's policy asks for."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from functools import lru_cache
from math import ceil

from django.db.models import CharField, Sum
from django.db.models.functions import Cast

from inventory.ground.defaults import shelf_defaults
from inventory.models import Movement, Posting, StockItem
from inventory.replenish.forecast import Expectation, expected_per_week, safety_stock, weekly

__all__ = ["USE", "expectations", "uses"]

UNKNOWN_LEAD = (shelf_defaults().use.unknown_lead_days, shelf_defaults().use.unknown_lead_spread_days)
"""Days until something can be had that nobody is known to sell, and their spread."""
USE = (Posting.Kind.ISSUE, Posting.Kind.RETURN, Posting.Kind.SCRAP)

Policy = StockItem.Policy
# The same figures give the same draws: a page that looks again finds what was worked out.
_reserve = lru_cache(maxsize=5000)(safety_stock)


def uses(*, until: date, weeks: int, from_first: bool = False) -> dict[int, tuple[int, ...]]:
    """Return what was used of each item that is kept in stock, week by week: issued less returned, and scrapped.

    An item that was not used in those weeks has none; `from_first` begins with the week in which it was first used.
    """
    movements = Movement.objects.filter(
        day__gt=until - timedelta(weeks=weeks), day__lte=until, posting__kind__in=USE
    ).exclude(item__policy=Policy.AS_NEEDED)
    # As text: reading a day for every row takes longer than finding the rows.
    days = movements.annotate(iso_day=Cast("day", CharField())).values_list("item", "iso_day")
    return weekly(days.annotate(total=-Sum("quantity")).order_by(), until=until, weeks=weeks, from_first=from_first)


def expectations(
    items: Iterable[StockItem], *, leads: Mapping[str, tuple[int, int]], on: date
) -> dict[int, Expectation]:
    """Return what is expected of the items that are kept in stock, by id; those bought for the job are left out.

    Args:
        leads: the days until each item can be had at the soonest, and their spread, by its code.
    """
    history = uses(until=on - timedelta(days=1), weeks=shelf_defaults().use.history_weeks, from_first=True)
    return {
        item.pk: _expected(item, history.get(item.pk, (0,)), leads.get(item.code, UNKNOWN_LEAD))
        for item in items
        if item.policy != Policy.AS_NEEDED
    }


def _expected(item: StockItem, series: tuple[int, ...], lead: tuple[int, int]) -> Expectation:
    lead_days, spread_days = lead
    if item.policy == Policy.SERVICE:
        reserve = _reserve(
            series,
            lead_weeks=max(1.0, lead_days / 7),
            lead_spread_weeks=spread_days / 7,
            service=item.service_percent / 100,
            seed=item.pk,
        )
        safety, per_week, rule = reserve.quantity, reserve.expected_per_week, reserve.rule
    else:
        safety, per_week = item.safety, expected_per_week(series)
        rule = "The reserve is the maker's own figure."
    cover = shelf_defaults().use.cover_weeks if item.cover_weeks is None else item.cover_weeks
    horizon = lead_days + 7 * cover
    return Expectation(
        safety=safety,
        use=ceil(per_week * horizon / 7),
        horizon_days=horizon,
        rule=f"{rule} Use is expected for {lead_days} days until a delivery and {cover} weeks of cover.",
    )
