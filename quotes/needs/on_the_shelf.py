"""What the shelf has for a quote before it starts: what is missing, and which remnants would hold its pieces."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inventory.ground.bone_forms import BoneForm
from inventory.models import Lot, StockItem, StockMaterial
from inventory.reserving.availability import Lack, lacks
from inventory.reserving.reservations import Wish
from quotes.commission.commission import Commission
from quotes.commission.quote import option_lays
from quotes.documents.material_needs import MaterialNeed, material_needs
from quotes.lay.lay_plan import LayProblem
from quotes.lay.rows import row_lay
from quotes.models import QuoteRevision
from quotes.needs.reserving import ready_quantity, reference_of

__all__ = ["OptionShelf", "RemnantFit", "listed_wishes", "option_shelves"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RemnantFit:
    """A remnant that holds all pieces of a cloth, laid in plain rows: `length_mm` of its length is used."""

    material: str
    lot: Lot
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionShelf:
    """An option held against the shelf. `never_kept` are needs of which no item is on the shelf's list yet."""

    name: str
    lacks: list[Lack]
    never_kept: list[MaterialNeed]
    remnants: list[RemnantFit]


def option_shelves(revision: QuoteRevision, commission: Commission, *, start: date, on: date) -> list[OptionShelf]:
    """Return each option as the shelf could serve it on the day the work starts; nothing is reserved."""
    problems = option_lays(commission)
    shelves = []
    for index, option in enumerate(revision.snapshot.quotation.options):
        wishes, never_kept = listed_wishes(material_needs(option))
        missing = lacks(wishes, start=start, reference=reference_of(revision.quote), on=on)
        shelves.append(
            OptionShelf(
                name=option.name,
                lacks=missing,
                never_kept=never_kept,
                remnants=_remnants({key.cloth: problem for key, problem in problems.items() if key.option == index}),
            )
        )
    return shelves


def listed_wishes(needs: Sequence[MaterialNeed]) -> tuple[list[Wish], list[MaterialNeed]]:
    """Return what needs wish of items that the shelf's list has, and the needs of items that it lacks.

    Nothing is made or reserved. Needs of materials that are not on the list are left out: they were priced from elsewhere.
    """
    items = {
        (item.material.code, item.bone_form, item.size_tenths_mm): item
        for item in StockItem.objects.filter(material__code__in={need.material for need in needs}).select_related(
            "material"
        )
    }
    listed = {row.code: row for row in StockMaterial.objects.filter(code__in={need.material for need in needs})}
    wishes, never_kept = [], []
    for need in needs:
        material = listed.get(need.material)
        if material is None:
            continue
        form = BoneForm(need.form) if need.form else material.bone_form
        item = items.get((need.material, form, need.size_tenths_mm))
        if item is not None:
            wishes.append(
                Wish(
                    item=item,
                    quantity=ready_quantity(need.quantity, item.unit, item.material),
                    operation=need.operation,
                    needs_one_lot=need.is_visible,
                )
            )
        else:
            never_kept.append(need)
    return wishes, never_kept


def _remnants(problems: Mapping[str, LayProblem]) -> list[RemnantFit]:
    """Remnants on the shelf that hold all pieces of one cloth, tightest first."""
    lots = Lot.objects.filter(
        item__material__code__in=problems, on_hand__gt=0, remnant_width_mm__isnull=False, state=Lot.State.READY
    ).select_related("item__material")
    fits = []
    for lot in lots:
        problem = problems[lot.item.material.code]
        width = float(lot.remnant_width_mm or 0)
        if any(_across(piece.outline) > width for piece in problem.pieces):
            continue
        length, _ = row_lay(LayProblem(width=width, pieces=problem.pieces, spacing=problem.spacing))
        if length <= float(lot.remnant_length_mm or 0):
            fits.append(RemnantFit(material=lot.item.material.name, lot=lot, length_mm=length))
    return sorted(fits, key=lambda fit: fit.lot.on_hand)


def _across(outline: tuple[tuple[float, float], ...]) -> float:
    across = [y for _, y in outline]
    return max(across) - min(across)
