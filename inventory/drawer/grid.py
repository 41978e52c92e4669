"""The drawer as a grid: by bone a row a length and a column a form, what is short in it, and what would do instead.

Quantities are base units: millimetres of a coil, bones of what is cut. Source of what stands in for what: the trade's practice,
a bone a little shorter without asking, a longer one or the coil where it is cut.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from inventory.ground.bone_forms import BoneForm

__all__ = ["Cell", "Instead", "Need", "Row", "Slot", "StandIn", "Tray", "nearest_rows", "trays"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What open work still takes of a slot."""

    reference: str
    quantity: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """One item of the drawer.

    Attributes:
        code: of the item.
        bone: code of its material; slots of one bone make one grid.
        width_mm: of the bone; None where it is not known.
        length_mm: of one; None on the coil.
        there: what lies there that work can use.
        coming: what open orders bring.
        pieces: of a coil, what hangs together.
        needs: of open work, in the order in which it is served.
        is_sold: whether it may be had, so that it has its place although none lies there.
    """

    code: str
    bone: str
    kind: str
    form: BoneForm
    width_mm: float | None = None
    length_mm: float | None = None
    there: int = 0
    coming: int = 0
    pieces: Sequence[int] = ()
    needs: Sequence[Need] = ()
    is_sold: bool = True

    @property
    def kept(self) -> int:
        """What open work takes."""
        return sum(need.quantity for need in self.needs)

    @property
    def free(self) -> int:
        """What open work leaves; 0 where it takes all."""
        return max(0, self.there - self.kept)

    @property
    def short(self) -> int:
        """What open work takes beyond what lies there."""
        return max(0, self.kept - self.there)

    @property
    def short_for(self) -> tuple[str, ...]:
        """The work that is not wholly served, each once."""
        left, unserved = self.there, dict[str, None]()
        for need in self.needs:
            left -= need.quantity
            if left < 0:
                unserved[need.reference] = None
        return tuple(unserved)

    @property
    def is_empty(self) -> bool:
        """Whether none lies there, is taken or comes."""
        return not (self.there or self.kept or self.coming)


class Instead(StrEnum):
    """What is done with what stands in."""

    AS_IT_IS = "stands in"
    TIPPED = "could be tipped"
    CUT = "could be cut"


@dataclass(frozen=True, slots=True, kw_only=True)
class StandIn:
    """So many of another slot that would do for what is short, and what has to be done with them."""

    slot: Slot
    count: int
    done: Instead


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A slot in its place, with what would do for what is short of it, the least trouble first."""

    slot: Slot
    stand_ins: tuple[StandIn, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A length with its cells by form."""

    length_mm: float
    cells: Mapping[BoneForm, Cell] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tray:
    """A bone: what of it is on the coil, its cut forms, its lengths with the shortest first, and what has no
    length: of a bone that comes in lengths only where some lies there."""

    bone: str
    kind: str
    coil: Cell | None
    forms: tuple[BoneForm, ...]
    rows: tuple[Row, ...]
    without_length: tuple[Cell, ...]


def trays(slots: Iterable[Slot], *, shorter_mm: float) -> tuple[Tray, ...]:
    """Return a tray a bone, in the order in which the bones come.

    Args:
        shorter_mm: so much shorter a bone stands in unasked.
    """
    of_bone: dict[str, list[Slot]] = defaultdict(list)
    shown = [slot for slot in slots if slot.is_sold or not slot.is_empty]
    for slot in shown:
        of_bone[slot.bone].append(slot)
    return tuple(_tray(own, shown, shorter_mm) for own in of_bone.values())


def nearest_rows(tray: Tray, length_mm: float) -> tuple[Row, ...]:
    """Return the row of a length; where there is none, the nearest shorter and the nearest longer one."""
    exact = [row for row in tray.rows if abs(row.length_mm - length_mm) < 0.5]
    if exact:
        return tuple(exact)
    shorter = [row for row in tray.rows if row.length_mm < length_mm]
    longer = [row for row in tray.rows if row.length_mm > length_mm]
    return (*shorter[-1:], *longer[:1])


def _tray(own: Sequence[Slot], drawer: Sequence[Slot], shorter_mm: float) -> Tray:
    cells = [Cell(slot=slot, stand_ins=_stand_ins(slot, drawer, shorter_mm)) for slot in own]
    by_length: dict[float, dict[BoneForm, Cell]] = defaultdict(dict)
    for cell in cells:
        if cell.slot.length_mm is not None:
            by_length[cell.slot.length_mm][cell.slot.form] = cell
    in_lengths = {form for row in by_length.values() for form in row}
    loose = [cell for cell in cells if cell.slot.length_mm is None]
    return Tray(
        bone=own[0].bone,
        kind=own[0].kind,
        coil=next((cell for cell in loose if cell.slot.form is BoneForm.COIL), None),
        forms=tuple(form for form in BoneForm if form in in_lengths),
        rows=tuple(Row(length_mm=length, cells=by_length[length]) for length in sorted(by_length)),
        without_length=tuple(
            cell for cell in loose if cell.slot.form is not BoneForm.COIL and not (by_length and cell.slot.is_empty)
        ),
    )


def _stand_ins(short: Slot, drawer: Sequence[Slot], shorter_mm: float) -> tuple[StandIn, ...]:
    """What would do for what is short of a slot: as it is, nearest first; then what needs a hand; the coil last."""
    if not short.short or short.length_mm is None:
        return ()
    found: list[tuple[tuple[int, float], StandIn]] = []
    for slot in drawer:
        if slot is short or not _is_alike(slot, short):
            continue
        count, done, order = _would_do(slot, short, short.length_mm, shorter_mm)
        if count > 0:
            found.append((order, StandIn(slot=slot, count=min(count, short.short), done=done)))
    return tuple(stand_in for _, stand_in in sorted(found, key=lambda pair: pair[0]))


def _would_do(slot: Slot, short: Slot, length_mm: float, shorter_mm: float) -> tuple[int, Instead, tuple[int, float]]:
    """How many of a slot would do, what is done with them, and how gladly they are taken."""
    if slot.length_mm is None:
        if slot.form is not BoneForm.COIL:
            return 0, Instead.CUT, (9, 0)
        whole = sum(int(piece // length_mm) for piece in slot.pieces)
        return min(whole, int(slot.free // length_mm)), Instead.CUT, (3, 0)
    longer = slot.length_mm - length_mm
    if -shorter_mm <= longer <= 0 and (slot.form is short.form or slot.form is BoneForm.TIPPED):
        return slot.free, Instead.AS_IT_IS, (0, -longer)
    if -shorter_mm <= longer <= 0:
        return slot.free, Instead.TIPPED, (1, -longer)
    return (slot.free if longer > 0 else 0), Instead.CUT, (2, longer)


def _is_alike(one: Slot, other: Slot) -> bool:
    """Whether two are the same bone, or of one kind and one known width, so that they fit the same channel."""
    return one.bone == other.bone or (
        one.kind == other.kind and one.width_mm is not None and one.width_mm == other.width_mm
    )
