"""Quotes whose materials cost something else today than they were quoted at."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from inventory.ground.money import currency_of
from inventory.ground.wording import money_text, percent_text
from inventory.models import StockMaterial
from quotes.models import QuoteRevision

__all__ = ["MovedQuote", "moved_quotes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedQuote:
    """A quote that is drafted or out, with what today's prices do to the materials of its options."""

    revision: QuoteRevision
    state: str
    options: list[tuple[str, str, str]]  # name, difference, share of the materials
    causes: list[str]


def moved_quotes(*, on: date) -> list[MovedQuote]:
    """Return drafts and quotes that are out whose materials' prices have moved, last first.

    The difference is Σ quantity × (price of today − price quoted); what was sent keeps its price all the same.
    """
    State = QuoteRevision.State
    rows = QuoteRevision.objects.select_related("quote__client").order_by("-quote__number", "-number")
    standing = [*rows.filter(state=State.DRAFT), *rows.standing(State.SENT, on=on)]
    today = {row.code: row for row in StockMaterial.objects.all()}
    found = []
    for revision in sorted(standing, key=lambda row: -row.quote.number):
        quotation = revision.figures["quotation"]
        currency = currency_of(quotation["currency"])
        options, causes = [], set()
        for option in quotation["options"]:
            materials = {line["code"]: line["material"] for line in option["takeoff"]["lines"]}
            difference = Decimal(0)
            for line in option["lines"]:
                row = today.get(materials.get(line["code"], ""))
                if line["group"] != "material" or row is None or row.unit_cost == Decimal(line["rate"]):
                    continue
                difference += Decimal(line["quantity"]) * (row.unit_cost - Decimal(line["rate"]))
                causes.add(row.name)
            if difference:
                share = difference / Decimal(option["materials"]) if Decimal(option["materials"]) else Decimal(0)
                options.append(
                    (
                        option["name"],
                        money_text(currency.round(difference), currency.code),
                        percent_text(round(share, 3)),
                    )
                )
        if options:
            label = revision.standing(on=on).label
            found.append(MovedQuote(revision=revision, state=label, options=options, causes=sorted(causes)))
    return found
