"""Use cases of counting bones by their lengths: one figure a length and form, however many lots of it lie together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Count

from inventory.counting.stocktaking import Counted, keep_counts, last_movements, lines_of
from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import BONES
from inventory.models import CountLine, Lot, StockItem, Stocktake

__all__ = ["BoneGroup", "bone_groups", "keep_by_length", "lots_of_bones", "seen_now", "shared_over"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BoneGroup:
    """Lines of a stocktake that lie together and are counted as one: all of one length and form, or one coil.

    The lines stand in the order in which their lots are taken.
    """

    item: StockItem
    lines: Sequence[CountLine]

    @property
    def key(self) -> int:
        """The number of its first line, by which a form names it."""
        return min(line.pk for line in self.lines)

    @property
    def book(self) -> int:
        """What the ledger holds now, in base units."""
        return sum(line.lot.on_hand for line in self.lines)

    @property
    def counted(self) -> int | None:
        """What was counted so far, in base units; None before all of it was."""
        counts = [line.counted for line in self.lines]
        return None if None in counts else sum(count or 0 for count in counts)


def lots_of_bones() -> dict[str, int]:
    """Return the kinds of bones of which some lie there, with how many lots."""
    there = Lot.objects.filter(on_hand__gt=0, item__material__kind__in=BONES).order_by()
    return dict(there.values_list("item__material__kind").annotate(lots=Count("pk")))


def bone_groups(stocktake: Stocktake) -> list[BoneGroup]:
    """Return the bones of a stocktake in the order of the shelf: kind, material, form, length."""
    lines = lines_of(stocktake).filter(lot__item__material__kind__in=BONES)
    lines = lines.order_by(
        *("lot__item__material__kind", "lot__item__material__sort_order", "lot__item__material__code"),
        *("lot__item__form", "lot__item__size_tenths_mm", "lot__item"),
        *("-lot__is_open", "lot__received_on", "lot"),
    )
    groups = []
    for _, together in groupby(lines, key=_lies_together):
        own = list(together)
        groups.append(BoneGroup(item=own[0].lot.item, lines=own))
    return groups


def seen_now(stocktake: Stocktake) -> int:
    """Return the number of the last movement of all that a stocktake counts, 0 where nothing of it ever moved."""
    return max(last_movements(stocktake).values(), default=0)


def keep_by_length(stocktake: Stocktake, counts: Mapping[int, int], *, seen: int) -> int:
    """Keep counts by the key of their group, all or none, and return how many groups are counted anew.

    What is missing of several lots is missing of those that are taken first; what is more is of the last one. A group that
    was counted already and stands there with the same figure keeps the moment at which it was counted.

    Args:
        seen: the number of the last movement that whoever counted knew of.

    Raises:
        Refused: the stocktake is over, or a lot moved since; then nothing is kept.
    """
    kept: list[Counted] = []
    groups = [group for group in bone_groups(stocktake) if counts.get(group.key, group.counted) != group.counted]
    for group in groups:
        how = "counted" if len(group.lines) == 1 else f"counted by length, {len(group.lines)} lots together"
        shares = shared_over([line.lot.on_hand for line in group.lines], counts[group.key])
        kept += [
            Counted(line=line.pk, quantity=share, how=how, seen=seen)
            for line, share in zip(group.lines, shares, strict=True)
        ]
    keep_counts(stocktake, kept)
    return len(groups)


def shared_over(holds: Sequence[int], counted: int) -> list[int]:
    """Return what each of some lots holds where so much was counted of them together.

    >>> shared_over([4, 6, 2], 7), shared_over([4, 6, 2], 15), shared_over([4, 6], 0)
    ([0, 5, 2], [4, 6, 5], [0, 0])
    """
    left, shares = counted, []
    for held in reversed(holds):
        shares.append(min(held, left))
        left -= shares[-1]
    shares.reverse()
    shares[-1] += left
    return shares


def _lies_together(line: CountLine) -> tuple[int, int]:
    """Coils are counted one by one, cut bones by their item."""
    item = line.lot.item
    return item.pk, line.lot_id if item.bone_form is BoneForm.COIL else 0
