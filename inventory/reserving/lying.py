"""What lies there, lot by lot: what of it work can use, what raw cloth loses in the wash, and what is a crumb."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field

from django.db.models import Exists, F, Min, OuterRef, QuerySet, Subquery

from inventory.models import Lot, Reservation, ReservationLine, Shelf
from inventory.reckoning.crumbs import Kept, Rest, is_crumb

__all__ = ["Lying", "crumb_lots", "lost_in_wash", "lying"]


@dataclass(slots=True, kw_only=True)
class Lying:
    """Base units of an item in lots of full width.

    Attributes:
        on_hand: all of it, crumbs too.
        washes_off: what raw cloth will lose.
        crumbs: what no job can use.
        lots: what lots that can be used hold, of raw cloth as it is once washed; by lot.
    """

    on_hand: int = 0
    washes_off: int = 0
    crumbs: int = 0
    lots: dict[int, int] = field(default_factory=dict)

    @property
    def usable(self) -> int:
        """What work can use."""
        return self.on_hand - self.washes_off - self.crumbs

    @property
    def largest(self) -> int:
        """The largest piece in one; 0 where nothing can be used."""
        return max(self.lots.values(), default=0)


def lying(items: Collection[int] | None = None, *, asked: Mapping[int, int] | None = None) -> dict[int, Lying]:
    """Return what lies there by item, in one query; an item without any has an empty one.

    Args:
        asked: by item, the least that is asked for now; nothing is a crumb that would do for it.
    """
    there: dict[int, Lying] = defaultdict(Lying)
    raw: dict[int, int] = defaultdict(int)
    permille: dict[int, int] = {}
    whole = Lot.objects.filter(remnant_width_mm__isnull=True)
    for lot, is_rest in _judged(whole if items is None else whole.filter(item__in=items), asked or {}):
        here = there[lot.item_id]
        here.on_hand += lot.on_hand
        if is_rest:
            here.crumbs += lot.on_hand
            continue
        here.lots[lot.pk] = _ready(lot)
        if lot.state == Lot.State.RAW:
            raw[lot.item_id] += lot.on_hand
            permille[lot.item_id] = lot.item.material.shrinkage_permille
    for item, amount in raw.items():
        there[item].washes_off = lost_in_wash(amount, permille[item])
    return there


def crumb_lots() -> list[Lot]:
    """Return the lots and remnants of the whole shelf that no job can use, in one query."""
    return [lot for lot, is_rest in _judged(Lot.objects.all(), {}) if is_rest]


def lost_in_wash(raw: int, shrinkage_permille: int) -> int:
    """Return what raw cloth loses, in whole mm, rounded up."""
    return -(-raw * shrinkage_permille // 1000)


def _judged(lots: QuerySet[Lot], asked: Mapping[int, int]) -> Iterator[tuple[Lot, bool]]:
    """Each lot with stock, and whether it is a crumb; a lot from which open work is kept is none."""
    needs = ReservationLine.objects.filter(item=OuterRef("item"), quantity__gt=0)
    least = needs.order_by().values("item").annotate(least=Min("quantity")).values("least")
    bound = ReservationLine.objects.filter(
        lot=OuterRef("pk"), issued__lt=F("quantity"), reservation__state=Reservation.State.OPEN
    )
    rule = Shelf.objects.filter(pk=1)
    judged = (
        lots.filter(on_hand__gt=0)
        .select_related("item__material")
        .defer("item__material__facts", "item__material__lengths_tenths_mm")
        .annotate(
            least_need=Subquery(least[:1]),
            is_loose=Exists(needs.filter(needs_one_lot=False)),
            is_kept=Exists(bound),
            kept_width=Subquery(rule.values("remnant_width_mm")[:1]),
            kept_length=Subquery(rule.values("remnant_length_mm")[:1]),
        )
    )
    for lot in judged.order_by("item__material__name", "item__size_tenths_mm", "pk"):
        needed = [need for need in (lot.least_need, asked.get(lot.item_id)) if need]
        rest = Rest(
            kind=lot.item.kind_by_length,
            length_mm=lot.remnant_length_mm or _ready(lot),
            width_mm=lot.remnant_width_mm,
            least_need_mm=min(needed, default=None),
            one_lot_only=lot.least_need is not None and not lot.is_loose,
        )
        kept = Kept(width_mm=lot.kept_width, length_mm=lot.kept_length)
        yield lot, not lot.is_kept and is_crumb(rest, kept=kept)


def _ready(lot: Lot) -> int:
    """What a lot holds once it is washed."""
    if lot.state != Lot.State.RAW:
        return lot.on_hand
    return lot.on_hand - lost_in_wash(lot.on_hand, lot.item.material.shrinkage_permille)
