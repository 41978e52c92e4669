"""What the shelf keeps for a quote: softly while it is out, firmly once it is accepted, nothing once it is declined."""

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal

from django.urls import reverse

from inventory.ground.bone_forms import BoneForm
from inventory.ground.measures import quantity_of
from inventory.ground.stock_units import StockUnit
from inventory.models import StockMaterial
from inventory.reserving.reservations import Wish, release, reserve
from inventory.stock.price_list import item_of
from quotes.documents.material_needs import MaterialNeed, material_needs
from quotes.models import Quote, QuoteRevision, Workroom
from quotes.seal.sealed import SealedOption

__all__ = ["keep_firmly", "keep_softly", "let_go", "needed_by", "ready_quantity", "reference_of", "wishes_of"]


def reference_of(quote: Quote) -> str:
    """How the shelf names a quote's work."""
    return f"Q{quote.number}"


def needed_by(quote: Quote, room: Workroom, *, on: date) -> date:
    """The day on which a piece's materials must be there: so many days before it is due, today at the earliest.

    A quote without a due date counts as due after the workroom's usual weeks.
    """
    due = quote.due or on + timedelta(weeks=room.lead_weeks)
    return max(on, due - timedelta(days=room.bench_days))


def wishes_of(options: Sequence[SealedOption]) -> list[Wish]:
    """Return what options of a quotation ask of the shelf; of several options the most that any asks.

    An item that was never kept before is made, so that it can be bought. Materials that are not on the shelf's list
    are left out: they were priced from elsewhere.
    """
    most: dict[tuple[str, str, int, str], MaterialNeed] = {}
    for option in options:
        for need in material_needs(option):
            key = (need.material, need.form, need.size_tenths_mm, need.operation)
            if key not in most or need.quantity > most[key].quantity:
                most[key] = need
    materials = {
        material.code: material for material in StockMaterial.objects.filter(code__in={key[0] for key in most})
    }
    wishes = []
    for need in most.values():
        if need.material in materials:
            form = BoneForm(need.form) if need.form else None
            item = item_of(materials[need.material], need.size_tenths_mm, form)
            quantity = ready_quantity(need.quantity, item.unit, item.material)
            wishes.append(Wish(item=item, quantity=quantity, operation=need.operation, needs_one_lot=need.is_visible))
    return wishes


def ready_quantity(quantity: Decimal, unit: StockUnit, material: StockMaterial) -> int:
    """Return what a takeoff asks for in whole base units; of cloth, as it lies there when it is washed.

    A takeoff counts what is bought, before it shrinks; the shelf keeps ready cloth.
    """
    bought = quantity_of(quantity, unit)
    return -(-bought * (1000 - material.shrinkage_permille) // 1000)


def keep_softly(revision: QuoteRevision, room: Workroom, *, on: date) -> None:
    """Keep what a quote asks for until it expires."""
    _keep(revision, revision.snapshot.quotation.options, room, on=on, expires_on=revision.valid_until)


def keep_firmly(revision: QuoteRevision, room: Workroom, *, on: date) -> None:
    """Keep what the accepted option asks for."""
    accepted = [revision.accepted]
    _keep(revision, accepted, room, on=on, expires_on=None)


def let_go(quote: Quote, *, why: str) -> None:
    """Keep nothing for a quote any more."""
    release(reference_of(quote), why=why)


def _keep(
    revision: QuoteRevision, options: Sequence[SealedOption], room: Workroom, *, on: date, expires_on: date | None
) -> None:
    quote = revision.quote
    reserve(
        reference=reference_of(quote),
        title=quote.title,
        link=reverse("quotes:quote", args=[quote.pk]),
        wishes=wishes_of(options),
        needed_by=needed_by(quote, room, on=on),
        expires_on=expires_on,
    )
