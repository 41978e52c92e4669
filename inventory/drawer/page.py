"""The drawer in words."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from inventory.drawer.grid import Cell, Instead, Row, Slot, StandIn, Tray, nearest_rows
from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import BONES, KINDS, kind_of
from inventory.ground.measures import quantity_text
from inventory.ground.units import LengthUnit, format_length, inches_text
from inventory.models import StockItem, StockMaterial

__all__ = ["CellWords", "KindPart", "TrayPart", "drawer_parts", "length_words"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CellWords:
    """How many lie there, what open work leaves, what is short and what would do; `code` leads to the item."""

    code: str
    there: str
    leaves: str
    short: str
    instead: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayPart:
    """A bone: its coil, its grid with a head a form and a row a length, and what has no length."""

    material: StockMaterial
    coil: CellWords | None
    heads: Sequence[str]
    rows: Sequence[tuple[str, str, Sequence[CellWords | None]]]  # mm, inches, a cell a head
    loose: Sequence[CellWords]

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to show of it."""
        return not (self.coil or self.rows or self.loose)


@dataclass(frozen=True, slots=True, kw_only=True)
class KindPart:
    """A kind with its bones; `can_count` where some lie there."""

    kind: str
    label: str
    trays: Sequence[TrayPart]
    can_count: bool


def drawer_parts(
    drawer: Iterable[Tray], items: Iterable[StockItem], *, length_mm: float | None = None
) -> list[KindPart]:
    """Return the drawer kind by kind, in the order in which kinds are chosen; with a length, of each bone the rows that are nearest to it."""
    by_code = {item.code: item for item in items}
    materials = {item.material.code: item.material for item in by_code.values()}
    parts = []
    for kind, of_kind in groupby(sorted(drawer, key=_place_of), key=_kind_of):
        trays = list(of_kind)
        shown = [_tray_part(tray, materials[tray.bone], by_code, length_mm) for tray in trays]
        parts.append(
            KindPart(
                kind=kind,
                label=KINDS[kind_of(kind)].label,
                trays=[part for part in shown if not part.is_empty],
                can_count=any(by_code[cell.slot.code].on_hand for tray in trays for cell in _cells(tray)),
            )
        )
    return [part for part in parts if part.trays]


def length_words(length_mm: float) -> str:
    """Return a length in mm and in inches to an eighth."""
    return f"{length_mm:g} mm, {inches_text(length_mm)} in"


def _kind_of(tray: Tray) -> str:
    return tray.kind


def _place_of(tray: Tray) -> int:
    return BONES.index(kind_of(tray.kind))


def _cells(tray: Tray) -> Iterator[Cell]:
    if tray.coil:
        yield tray.coil
    for row in tray.rows:
        yield from row.cells.values()
    yield from tray.without_length


def _tray_part(
    tray: Tray, material: StockMaterial, by_code: Mapping[str, StockItem], length_mm: float | None
) -> TrayPart:
    rows: Sequence[Row] = tray.rows if length_mm is None else nearest_rows(tray, length_mm)

    def words(cell: Cell) -> CellWords:
        return _cell_words(cell, by_code)

    return TrayPart(
        material=material,
        coil=words(tray.coil) if tray.coil else None,
        heads=[form.label for form in tray.forms],
        rows=[
            (
                f"{row.length_mm:g} mm",
                format_length(row.length_mm, LengthUnit.INCH),
                [words(row.cells[form]) if form in row.cells else None for form in tray.forms],
            )
            for row in rows
        ],
        loose=[words(cell) for cell in tray.without_length] if length_mm is None else [],
    )


def _cell_words(cell: Cell, by_code: Mapping[str, StockItem]) -> CellWords:
    slot = cell.slot
    unit = slot.form.unit

    def amount(quantity: int) -> str:
        return quantity_text(quantity, unit)

    largest = max(slot.pieces, default=0)
    leaves = [
        *([f"largest piece {amount(largest)}"] if 0 < largest < slot.there else []),
        *([f"{amount(slot.kept)} kept", f"{amount(slot.free)} free"] if slot.kept else []),
        *([f"{amount(slot.coming)} on order"] if slot.coming else []),
    ]
    return CellWords(
        code=slot.code,
        there=amount(slot.there),
        leaves=", ".join(leaves),
        short=f"{amount(slot.short)} short for {', '.join(slot.short_for)}" if slot.short else "",
        instead="; ".join(_instead_words(stand_in, slot, by_code) for stand_in in cell.stand_ins),
    )


def _instead_words(stand_in: StandIn, short: Slot, by_code: Mapping[str, StockItem]) -> str:
    """Such as “2 of 245 mm stand in”, with the bone's name where it is another one."""
    slot, item = stand_in.slot, by_code[stand_in.slot.code]
    other = "" if slot.bone == short.bone else f" of {item.material.name}"
    done = "stand in" if stand_in.done is Instead.AS_IT_IS and stand_in.count > 1 else stand_in.done.value
    if slot.form is BoneForm.COIL:
        return f"{stand_in.count} from the coil{other} {done}"
    ends = "" if slot.form is short.form else "raw " if slot.form is BoneForm.CUT else "tipped "
    return f"{stand_in.count} {ends}of {slot.length_mm:g} mm{other} {done}"
