"""What the ledger tells of use: week by week, and how the shelf is watched so that orders can be planned over time."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from itertools import pairwise
from statistics import median

from django.db.models import CharField, Q, Sum
from django.db.models.functions import Cast
from django.utils import timezone

from inventory.ground.defaults import shelf_defaults
from inventory.ground.materials import BONES
from inventory.ground.measures import amount_of
from inventory.models import KeptPlan, Movement, Posting, PurchaseOrder, StockItem
from inventory.reckoning.crumbs import CRUMB
from inventory.replenish.watch import HISTORY_WEEKS, Use, Watch
from inventory.shelf.settings import shelf

__all__ = ["USE", "review_days", "used_by_day", "watch_of"]

USE = (Posting.Kind.ISSUE, Posting.Kind.RETURN, Posting.Kind.SCRAP)
YEAR_DAYS = 365

Policy = StockItem.Policy


def watch_of(items: Iterable[StockItem], *, on: date) -> Watch:
    """Return how the shelf is watched on a day: past use of what is kept in stock, reviews, what is to be met of its use.

    What is bought for the job is left out: it is not forecast.
    """
    kept = {item.pk: item for item in items if item.policy != Policy.AS_NEEDED}
    history = tuple(
        Use(material=kept[pk].code, day=day, quantity=amount_of(quantity, kept[pk].unit))
        for pk, day, quantity in used_by_day(until=on)
        if pk in kept and quantity
    )
    by_service = [item for item in kept.values() if item.policy == Policy.SERVICE]
    return Watch(
        review_days=review_days(on=on),
        history=history,
        service={item.code: item.service_percent / 100 for item in by_service},
        cover_weeks={item.code: float(item.cover_weeks) for item in kept.values() if item.cover_weeks},
    )


def review_days(*, on: date) -> int:
    """Return after how many days the maker looks again what to order.

    As set; else the median distance of the days of the last year on which orders were planned or went out; the default
    where there are too few. The day itself is left out, since a plan that is kept on it must not change its own question.
    """
    if (told := shelf().review_days) is not None:
        return told
    past = (on - timedelta(days=YEAR_DAYS), on - timedelta(days=1))
    made = KeptPlan.objects.filter(made_at__date__range=past).values_list("made_at", flat=True)
    placed = PurchaseOrder.objects.filter(placed_on__range=past).values_list("placed_on", flat=True)
    days = sorted({timezone.localdate(moment) for moment in made} | {day for day in placed if day})
    defaults = shelf_defaults().use
    if len(days) < defaults.fewest_reviews:
        return defaults.review_days
    return max(1, round(median((after - before).days for before, after in pairwise(days))))


def used_by_day(*, until: date) -> Iterator[tuple[int, date, int]]:
    """Yield item, day, and what was used of it then in base units: issued less returned, scrapped, and of bones cut into others.

    Of what is kept in stock, in the weeks that forecasts look at; crumbs that were swept out are no use.
    """
    is_use = Q(posting__kind__in=USE)
    is_cut_up = Q(posting__kind=Posting.Kind.SPLITTING, item__material__kind__in=BONES, quantity__lt=0)
    movements = Movement.objects.filter(
        is_use | is_cut_up, day__gt=until - timedelta(weeks=HISTORY_WEEKS), day__lte=until
    ).exclude(Q(item__policy=Policy.AS_NEEDED) | Q(posting__cause=CRUMB))
    # As text: reading a day for every row takes longer than finding the rows.
    days = movements.annotate(iso_day=Cast("day", CharField())).values_list("item", "iso_day")
    for item, day, quantity in days.annotate(total=-Sum("quantity")).order_by():
        yield item, date.fromisoformat(day), quantity
