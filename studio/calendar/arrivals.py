"""When the materials that a piece lacks are there, for jobs by what is kept for them, for a quote by what it asks for.

What is neither on the shelf nor on order counts as if it were ordered today, where it is offered cheapest.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.buying.ordered_today import OrderedToday, ordered_today
from inventory.reserving.availability import Lack, lacks_of_all
from inventory.reserving.reservations import Ask, ask_of, open_reservations, starts_on
from quotes.documents.material_needs import material_needs
from quotes.models import QuoteRevision
from quotes.needs.on_the_shelf import listed_wishes
from quotes.needs.reserving import needed_by, reference_of
from quotes.seal.sealed import SealedOption
from quotes.workroom.settings import workroom
from studio.models import Job

__all__ = ["LateOrder", "Materials", "ToOrder", "materials_for", "materials_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToOrder:
    """Materials that one supplier would bring by a day if they were ordered today."""

    supplier: str
    there_on: date
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LateOrder:
    """An order that should have brought materials so many days ago."""

    order: int
    days: int
    is_counted_on: bool
    names: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Materials:
    """What a piece waits for.

    Attributes:
        ordered_by: the day by which all that is ordered has come; None where nothing ordered is waited for.
        late: orders that are late; those that are too late to be counted on bring nothing by `ordered_by`.
        to_order: what is short and not on order, by supplier.
        offered_by_nobody: what is short, and neither on order nor offered.
    """

    ordered_by: date | None = None
    late: tuple[LateOrder, ...] = ()
    to_order: tuple[ToOrder, ...] = ()
    offered_by_nobody: tuple[str, ...] = ()

    @property
    def there_on(self) -> date | None:
        """When all is there that is ordered or can be; None where nothing is waited for."""
        days = [order.there_on for order in self.to_order]
        return max([*days, self.ordered_by] if self.ordered_by else days, default=None)


def materials_of(jobs: Sequence[Job], on: date) -> dict[str, Materials]:
    """Return what jobs wait for, by their references, by what is still kept for each; one look at the shelf for all."""
    reservations = open_reservations([job.reference for job in jobs])
    asks = [
        ask_of(reservation, start=day)
        for reservation in reservations.values()
        for day in _days(starts_on(reservation, on=on), on)
    ]
    materials = _materials(asks, on)
    return {job.reference: materials.get(job.reference, Materials()) for job in jobs}


def materials_for(revision: QuoteRevision, option: SealedOption, on: date) -> Materials:
    """Return what an option of a quote would wait for."""
    wishes, _ = listed_wishes(material_needs(option))
    start, reference = needed_by(revision.quote, workroom(), on=on), reference_of(revision.quote)
    return _materials([Ask(wishes=wishes, start=day, reference=reference) for day in _days(start, on)], on)[reference]


def _days(start: date, on: date) -> list[date]:
    """Looked up today, for what still has to come, and on the day of need, when earlier work may have taken it."""
    return sorted({on, start})


def _materials(asks: Sequence[Ask], on: date) -> dict[str, Materials]:
    """By reference."""
    short: dict[str, list[Lack]] = defaultdict(list)
    for ask, lacks in zip(asks, lacks_of_all(asks, on=on), strict=True):
        short[ask.reference] += lacks
    # The work that comes last of an item is short of what all before it lack too.
    needed: dict[int, int] = defaultdict(int)
    for lack in (lack for lacks in short.values() for lack in lacks if lack.there_on is None):
        needed[lack.wish.item.pk] = max(needed[lack.wish.item.pk], lack.quantity or lack.wish.quantity)
    orders = ordered_today(needed, on=on) if needed else {}
    return {reference: _waits_for(lacks, orders) for reference, lacks in short.items()}


def _waits_for(short: Iterable[Lack], orders: Mapping[int, OrderedToday]) -> Materials:
    ordered: list[date] = []
    to_order: dict[tuple[date, str], dict[str, None]] = defaultdict(dict)
    nobody: dict[str, None] = {}
    late: dict[tuple[int, int, bool], dict[str, None]] = defaultdict(dict)
    for lack in short:
        name = str(lack.wish.item)
        if lack.order is not None and lack.late_days:
            late[lack.order, lack.late_days, lack.there_on is not None][name] = None
        if lack.there_on is not None:
            ordered.append(lack.there_on)
        elif (order := orders.get(lack.wish.item.pk)) is not None:
            to_order[order.there_on, order.supplier.name][name] = None
        else:
            nobody[name] = None
    return Materials(
        ordered_by=max(ordered, default=None),
        late=tuple(
            LateOrder(order=order, days=days, is_counted_on=is_counted_on, names=tuple(names))
            for (order, days, is_counted_on), names in sorted(late.items())
        ),
        to_order=tuple(
            ToOrder(supplier=supplier, there_on=day, names=tuple(names))
            for (day, supplier), names in sorted(to_order.items())
        ),
        offered_by_nobody=tuple(nobody),
    )
