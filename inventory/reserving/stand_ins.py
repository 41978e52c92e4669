"""What lies free on the shelf and would do for what work lacks, and taking it in place of what the plan names."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.db.models import F, Q

from inventory.ground.findings import refuse
from inventory.ground.materials import BONES, CLOTHS, MaterialKind, UnknownKind, kind_of
from inventory.models import ReservationLine, StockItem, Substitute
from inventory.reckoning.stand_in_cases import Lacking, Thing
from inventory.reckoning.stand_ins import Allowed, LyingThing, StandIn, may_stand_in, stand_ins
from inventory.reserving.availability import Lack, lacks_of_work
from inventory.reserving.lying import lying
from inventory.reserving.reservations import active_lines

__all__ = ["LackThere", "OfferedStandIn", "stand_ins_of", "take_instead"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LackThere:
    """A lack, and of a bone the places where it goes; none where they are not known."""

    lack: Lack
    places: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedStandIn:
    """An item that would do."""

    item: StockItem
    stand_in: StandIn


def stand_ins_of(
    lacking: Sequence[LackThere], *, hourly: Decimal, currency: str, on: date
) -> list[list[OfferedStandIn]]:
    """Return what would do for each lack, best first, in four queries however many they are; none without a lack.

    Each is looked at by itself: two lacks may be offered the same. What anybody has asked for is not free, whenever it
    is needed, quotes that are merely out too.

    Args:
        hourly: what an hour of more work costs.
    """
    if not lacking:
        return []
    allowed = _allowed({there.lack.wish.item.pk for there in lacking})
    items = {item.pk: item for item in _candidates(lacking, {pk for own in allowed.values() for pk in own})}
    there = _lying(items, currency, on=on)
    codes = {item.code: item for item in items.values()}
    offers = []
    for row in lacking:
        own = allowed.get(row.lack.wish.item.pk, {})
        found = stand_ins(
            _lacking(row),
            there,
            allowed={items[pk].code: allowance for pk, allowance in own.items() if pk in items},
            hourly=hourly,
        )
        offers.append([OfferedStandIn(item=codes[stand_in.code], stand_in=stand_in) for stand_in in found])
    return offers


@transaction.atomic
def take_instead(
    line: ReservationLine, item: int, *, places: frozenset[str], hourly: Decimal, currency: str, on: date
) -> OfferedStandIn:
    """Keep a stand-in for work in place of what it lacks, with the tips that it takes; the plan's line shrinks by as much.

    Args:
        item: the one that stands in.

    Raises:
        Refused: it is not lacking any more, or that stand-in does not lie free any more.
    """
    reference = line.reservation.reference
    wanted = Q(pk=line.item_id) | Q(pk=item) | Q(material__kind=MaterialKind.TIP)
    list(StockItem.objects.select_for_update().filter(wanted).order_by("pk"))
    short = lacks_of_work([reference], on=on).get(reference, [])
    lack = next(
        (lack for lack in short if (lack.wish.item.pk, lack.wish.operation) == (line.item_id, line.operation)), None
    )
    if lack is None:
        raise refuse(
            "stand-in.not-lacking", str(line.item), f"{line.item} is not lacking any more.", "Take it as planned."
        )
    (offers,) = stand_ins_of([LackThere(lack=lack, places=places)], hourly=hourly, currency=currency, on=on)
    offer = next((offer for offer in offers if offer.item.pk == item), None)
    if offer is None:
        raise refuse(
            "stand-in.not-free",
            str(line.item),
            "What was to stand in does not lie free any more.",
            "Look at what else would do.",
        )
    kept = ReservationLine.objects.select_for_update().select_related("reservation").get(pk=line.pk)
    _keep(kept, offer.item.pk, offer.stand_in.quantity, needs_one_lot=kept.needs_one_lot)
    if offer.stand_in.tip:
        tip = StockItem.objects.get(code=offer.stand_in.tip)
        _keep(kept, tip.pk, offer.stand_in.tips, needs_one_lot=False)
    kept.quantity -= offer.stand_in.replaces
    if kept.quantity:
        kept.save(update_fields=["quantity"])
    else:
        kept.delete()
    return offer


def _keep(line: ReservationLine, item: int, quantity: int, *, needs_one_lot: bool) -> None:
    """Keep so much of another item for the operation of a line, beside what is kept of it already."""
    kept, is_new = ReservationLine.objects.select_for_update().get_or_create(
        reservation=line.reservation,
        item_id=item,
        operation=line.operation,
        defaults={"quantity": quantity, "needs_one_lot": needs_one_lot},
    )
    if not is_new:
        kept.quantity += quantity
        kept.save(update_fields=["quantity"])


def _allowed(items: Collection[int | None]) -> dict[int, dict[int, Allowed]]:
    """What the maker allows: by what is lacking, by what stands in."""
    allowed: dict[int, dict[int, Allowed]] = defaultdict(dict)
    for row in Substitute.objects.filter(item__in=[pk for pk in items if pk]):
        allowed[row.item_id][row.stand_in_id] = Allowed(asks_client=row.ask, why=row.why)
    return allowed


def _candidates(lacking: Sequence[LackThere], own: Collection[int]) -> Sequence[StockItem]:
    """What lies there of the kinds that might do, tips where bones lack, and what the maker allows."""
    kinds: set[MaterialKind] = set()
    for row in lacking:
        kind = _known_kind(row.lack.wish.item)
        if kind is not None:
            kinds |= may_stand_in(kind) | ({MaterialKind.TIP} if kind in BONES else set())
    might = Q(material__kind__in=kinds, material__is_retired=False) | Q(pk__in=own)
    return [
        item
        for item in StockItem.objects.filter(might, on_hand__gt=0).select_related("material")
        if _known_kind(item) is not None
    ]


def _known_kind(item: StockItem) -> MaterialKind | None:
    try:
        return kind_of(item.material.kind)
    except UnknownKind:
        return None


def _lying(items: Mapping[int, StockItem], currency: str, *, on: date) -> list[LyingThing]:
    """What lies there in usable lots, less what anybody has asked for."""
    asked: dict[int, int] = defaultdict(int)
    bound: dict[int, int] = defaultdict(int)
    for item, lot, left in (
        active_lines(on=on).filter(item__in=items).values_list("item", "lot", F("quantity") - F("issued"))
    ):
        asked[item] += left
        if lot is not None:
            bound[lot] += left
    there = lying(items)
    return [
        LyingThing(
            code=item.code,
            thing=_thing(item),
            free=max(0, there[pk].usable - asked[pk]),
            lots=tuple(max(0, holds - bound[lot]) for lot, holds in there[pk].lots.items()),
            unit_cost=_unit_cost(item, currency),
        )
        for pk, item in items.items()
    ]


def _unit_cost(item: StockItem, currency: str) -> Decimal | None:
    """By today's prices; an offcut that has none, at what it is worth on the average."""
    if item.unit_cost is not None or not item.there:
        return item.unit_cost
    return item.average_cost(currency)


def _lacking(row: LackThere) -> Lacking:
    wish = row.lack.wish
    return Lacking(
        code=wish.item.code,
        thing=_thing(wish.item),
        short=row.lack.quantity,
        whole=wish.quantity,
        unit_cost=wish.item.unit_cost,
        places=row.places,
        is_seen=wish.needs_one_lot,
    )


def _thing(item: StockItem) -> Thing:
    """An item with the facts that rules look at."""
    material, kind = item.material, kind_of(item.material.kind)
    width = None if material.width_tenths_mm is None else material.width_tenths_mm / 10
    bore, said_width, tex = (material.facts.get(name) for name in ("bore", "width", "tex"))
    if kind in CLOTHS:
        measure: float | None = float(material.usable_width_mm)
    elif bore:
        measure = float(bore)
    else:
        measure = width if width is not None else float(said_width) if said_width else None
    return Thing(
        make=material.code,
        kind=kind,
        form=item.bone_form,
        length_mm=item.size_tenths_mm / 10,
        measure_mm=measure,
        name=material.name,
        colour=material.colour,
        tone=material.colour_value or material.photo_tone,
        tex=Decimal(tex) if tex else None,
    )
