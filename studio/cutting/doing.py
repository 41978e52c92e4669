"""What a cut list comes to at the shelf: what each job takes of which lot, which bones are cut into what."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from studio.cutting.cut_list import CutLot, Lying, MaterialCuts, Rules, Totals, cut_list, totals
from studio.cutting.wanted import TENTHS, Wanted

__all__ = ["Bones", "Doing", "Taken", "doing_of", "one_after_another", "planned"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A job takes so much of a lot: whole millimetres off a coil or roll, else bones as they are."""

    lot: int
    job: str
    amount: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Bones:
    """`count` bones of a lot are each cut into `lengths`; `rest` of each goes back, 0 for none. Tenths of a millimetre.

    `shares` are what of it is whose: job, length, how many.
    """

    lot: int
    count: int
    lengths: tuple[int, ...]
    rest: int
    shares: tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Doing:
    """All of it, as the list was made; `whole` are the materials of which nothing was missing."""

    taken: tuple[Taken, ...]
    bones: tuple[Bones, ...]
    whole: tuple[str, ...]


def doing_of(lists: Sequence[MaterialCuts]) -> Doing:
    """Return what cut lists come to at the shelf, in their order."""
    taken: list[Taken] = []
    bones: list[Bones] = []
    for lot in (lot for of in lists for lot in of.lots):
        if lot.is_roll or lot.is_as_it_is:
            taken += _taken(lot)
        else:
            bones.append(_bones(lot))
    return Doing(taken=tuple(taken), bones=tuple(bones), whole=tuple(of.material for of in lists if not of.missing))


def planned(wanted: Sequence[Wanted], lying: Sequence[Lying], rules: Mapping[str, Rules]) -> tuple[MaterialCuts, ...]:
    """Return the cut list of each material, in the order in which they are first wanted.

    Args:
        rules: by material.
    """
    return tuple(
        cut_list(
            [want for want in wanted if want.material == material],
            [stock for stock in lying if stock.material == material],
            rules=rules[material],
        )
        for material in dict.fromkeys(want.material for want in wanted)
    )


def one_after_another(wanted: Sequence[Wanted], lying: Sequence[Lying], rules: Mapping[str, Rules]) -> Totals:
    """Return what it comes to when each job is cut by itself, in their order, of what those before it left."""
    lists: list[MaterialCuts] = []
    for job in dict.fromkeys(want.job for want in wanted):
        own = planned([want for want in wanted if want.job == job], lying, rules)
        lists += own
        lying = _left(lying, own)
    return totals(lists)


def _taken(lot: CutLot) -> list[Taken]:
    """What jobs share of what is used of a roll, by the lengths of their pieces, rounded up once; of bones whose they are."""
    shares: Counter[str] = Counter()
    for piece in lot.pieces:
        for share in piece.shares:
            shares[share.job] += share.count * (piece.length if lot.is_roll else 1)
    if not lot.is_roll:
        return [Taken(lot=lot.lot, job=job, amount=count) for job, count in shares.items()]
    taken, so_far, given = [], 0, 0
    for job, length in shares.items():
        so_far += length
        up_to = -(-so_far * lot.used // (shares.total() * TENTHS))
        taken.append(Taken(lot=lot.lot, job=job, amount=up_to - given))
        given = up_to
    return taken


def _bones(lot: CutLot) -> Bones:
    shares: Counter[tuple[str, int]] = Counter()
    for piece in lot.pieces:
        for share in piece.shares:
            shares[share.job, piece.length] += share.count
    return Bones(
        lot=lot.lot,
        count=lot.times,
        lengths=tuple(piece.length for piece in lot.pieces for _ in range(piece.count // lot.times)),
        rest=lot.rest if lot.goes_back else 0,
        shares=tuple((job, length, count) for (job, length), count in shares.items()),
    )


def _left(lying: Sequence[Lying], lists: Sequence[MaterialCuts]) -> list[Lying]:
    """What lies there once lists are cut: less of what was used, and the rests that went back as lots of their own."""
    used: Counter[int] = Counter()
    rests: list[Lying] = []
    by_lot = {stock.lot: stock for stock in lying}
    new = min([0, *by_lot]) - 1
    for lot in (lot for of in lists for lot in of.lots):
        used[lot.lot] += lot.used if lot.is_roll else lot.times
        if lot.goes_back and not lot.is_roll:
            stock = by_lot[lot.lot]
            rests.append(replace(stock, lot=new, form="cut", length=lot.rest, count=lot.times, is_rest=True))
            new -= 1
    left = [
        replace(stock, length=stock.length - used[stock.lot], is_open=stock.is_open or used[stock.lot] > 0)
        if stock.is_roll
        else replace(stock, count=stock.count - used[stock.lot], is_open=stock.is_open or used[stock.lot] > 0)
        for stock in lying
    ]
    return [stock for stock in (*left, *rests) if stock.count and stock.length > 0]
