"""What the shelf has for a quote before it starts: what is missing, what would do in its place, which remnants hold its pieces."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.ground.bone_forms import BoneForm
from inventory.models import Lot, StockItem, StockMaterial
from inventory.reserving.availability import Lack, lacks
from inventory.reserving.reservations import Wish
from inventory.reserving.stand_ins import LackThere, OfferedStandIn, stand_ins_of
from quotes.commission.commission import Commission
from quotes.commission.quote import open_lays
from quotes.documents.material_needs import MaterialNeed, bone_places, material_needs
from quotes.lay.lay_plan import LayProblem
from quotes.lay.rows import row_lay
from quotes.models import QuoteRevision
from quotes.needs.reserving import ready_quantity, reference_of
from quotes.pricing.costing import Rates
from quotes.seal.sealed import SealedOption

__all__ = ["OptionShelf", "RemnantFit", "hourly_cost", "lack_there", "listed_wishes", "option_shelves", "places_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RemnantFit:
    """A remnant that holds all pieces of a cloth, laid in plain rows: `length_mm` of its length is used."""

    material: str
    lot: Lot
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionShelf:
    """An option held against the shelf.

    Attributes:
        never_kept: needs of which no item is on the shelf's list yet.
        stand_ins: what would do, best first, for each of `lacks` and then for each of `never_kept`.
    """

    name: str
    lacks: list[Lack]
    never_kept: list[MaterialNeed]
    stand_ins: list[list[OfferedStandIn]]
    remnants: list[RemnantFit]


def option_shelves(revision: QuoteRevision, commission: Commission, *, start: date, on: date) -> list[OptionShelf]:
    """Return each option as the shelf could serve it on the day the work starts; nothing is reserved."""
    problems = open_lays(commission)
    options = revision.snapshot.quotation.options
    found: list[tuple[list[Lack], list[MaterialNeed]]] = []
    for option in options:
        wishes, never_kept = listed_wishes(material_needs(option))
        found.append((lacks(wishes, start=start, reference=reference_of(revision.quote), on=on), never_kept))
    unlisted = _unlisted([need for _, never_kept in found for need in never_kept])
    lacking = [
        [lack_there(lack, option) for lack in (*missing, *(unlisted[need] for need in never_kept))]
        for option, (missing, never_kept) in zip(options, found, strict=True)
    ]
    offers = iter(
        stand_ins_of(
            [row for rows in lacking for row in rows],
            hourly=hourly_cost(revision.snapshot.rates),
            currency=revision.currency,
            on=on,
        )
    )
    return [
        OptionShelf(
            name=option.name,
            lacks=missing,
            never_kept=never_kept,
            stand_ins=[next(offers) for _ in rows],
            remnants=_remnants({key.cloth: problem for key, problem in problems.items() if key.option == index}),
        )
        for index, (option, (missing, never_kept), rows) in enumerate(zip(options, found, lacking, strict=True))
    ]


def lack_there(lack: Lack, option: SealedOption) -> LackThere:
    """Return a lack of an option with the places where it goes."""
    return LackThere(lack=lack, places=places_of(lack.wish.item, option))


def places_of(item: StockItem, option: SealedOption) -> frozenset[str]:
    """Return where bones of an item go in an option; empty for what is none, or where that is not known."""
    return bone_places(option).get((item.material.code, item.bone_form, item.size_tenths_mm), frozenset())


def hourly_cost(rates: Rates) -> Decimal:
    """Return what an hour of more work costs: as much as it is reckoned with in a price, its overhead too."""
    return rates.labour_per_hour + rates.overhead_per_hour


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


def _unlisted(needs: Sequence[MaterialNeed]) -> dict[MaterialNeed, Lack]:
    """Needs without an item as lacks of all of it, of items that are made for this look alone; in one query, if any."""
    materials = {row.code: row for row in StockMaterial.objects.filter(code__in={need.material for need in needs})}
    found = {}
    for need in needs:
        form = BoneForm(need.form) if need.form else None
        is_own = form is None or form is materials[need.material].bone_form
        item = StockItem(
            material=materials[need.material],
            size_tenths_mm=need.size_tenths_mm,
            form="" if form is None or is_own else form.value,
        )
        quantity = ready_quantity(need.quantity, item.unit, item.material)
        wish = Wish(item=item, quantity=quantity, operation=need.operation, needs_one_lot=need.is_visible)
        found[need] = Lack(wish=wish, quantity=quantity, there_on=None, order=None)
    return found


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
