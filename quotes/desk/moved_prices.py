"""Quotes whose materials cost something else today than they were quoted at."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import BONES
from inventory.ground.money import Currency, currency_of
from inventory.models import StockItem, StockMaterial
from quotes.models import QuoteRevision
from quotes.seal.sealed import SealedOption

__all__ = ["MovedOption", "MovedQuote", "moved_quotes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedOption:
    """What today's prices do to an option's materials: the difference in money, unrounded, and its share of what they cost.

    `causes` are the names of the materials whose price has moved.
    """

    name: str
    difference: Decimal
    share: Decimal
    causes: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedQuote:
    """A quote that is drafted or out, with those of its options that cost something else today."""

    revision: QuoteRevision
    currency: Currency
    options: list[MovedOption]
    causes: list[str]


def moved_quotes(*, on: date) -> list[MovedQuote]:
    """Return drafts and quotes that are out whose materials' prices have moved, last first.

    What was sent keeps its price all the same.
    """
    State = QuoteRevision.State
    revisions = QuoteRevision.objects.select_related("quote__client").order_by("-quote__number", "-number")
    open_ones = [*revisions.filter(state=State.DRAFT), *revisions.standing(State.SENT, on=on)]
    on_shelf = {material.code: material for material in StockMaterial.objects.all()}
    in_forms = {
        (item.material.code, item.bone_form, item.size_tenths_mm): None if item.is_rest else item.unit_cost
        for item in StockItem.objects.filter(material__kind__in=BONES).select_related("material")
    }
    quotes = []
    for revision in sorted(open_ones, key=lambda revision: -revision.quote.number):
        quotation = revision.snapshot.quotation
        currency = currency_of(quotation.currency)
        options = [_moved(option, on_shelf, in_forms, currency) for option in quotation.options]
        if moved := [option for option in options if option.difference]:
            causes = sorted({cause for option in options for cause in option.causes})
            quotes.append(MovedQuote(revision=revision, currency=currency, options=moved, causes=causes))
    return quotes


def _moved(
    option: SealedOption,
    on_shelf: Mapping[str, StockMaterial],
    in_forms: Mapping[tuple[str, BoneForm | None, int], Decimal | None],
    currency: Currency,
) -> MovedOption:
    """What has moved of one option: Σ quantity × (price of today − price quoted)."""
    difference, causes = Decimal(0), set()
    taken = {line.code: line for line in option.takeoff.lines}
    for line in option.lines_of("material"):
        material = on_shelf.get(line.material)
        if material is None:
            continue
        cost: Decimal | None = material.unit_cost
        if line.code in taken and taken[line.code].form:
            form = BoneForm(taken[line.code].form)
            # A length of the own form that was never kept is no item yet, and costs what the material does.
            own = material.unit_cost if form is material.bone_form else None
            cost = in_forms.get((line.material, form, round(taken[line.code].size_mm * 10)), own)
        if cost is None or cost == line.rate:
            continue
        difference += line.quantity * (cost - line.rate)
        causes.add(material.name)
    return MovedOption(
        name=option.name,
        difference=difference,
        share=difference / option.materials if option.materials else Decimal(0),
        causes=frozenset(causes),
    )
