"""An accepted option's document, read back as what was quoted."""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from inventory.ground.materials import StockUnit
from inventory.ground.money import Currency
from quotes.pricing.costing import Rates
from studio.profit.piece import Amount, Quoted, QuotedMaterial, QuotedOperation

__all__ = ["quoted_from"]


def quoted_from(option: Mapping[str, Any], currency: Currency, rates: Rates) -> Quoted:
    """Return what an option of a quotation's document promised.

    Materials are put together by the material's code, as the shelf issues them: cloth and its bias square are one.
    Sundries, which no shelf counts, stand once under their own code.

    Raises:
        ValueError: the document's profit is not what its lines leave.
    """
    lines = option["lines"]
    quoted = Quoted(
        currency=currency,
        net=Decimal(option["net"]),
        fee=Decimal(option["fee"]),
        materials=_materials(option),
        operations=tuple(
            QuotedOperation(
                code=line["code"],
                name=line["what"],
                hours=Decimal(line["quantity"]),
                amount=Decimal(line["amount"]),
            )
            for line in lines
            if line["group"] == "labour"
        ),
        labour_rate=rates.labour_per_hour,
        overhead=Decimal(option["overhead"]),
        overhead_rate=rates.overhead_per_hour,
        contingency=Decimal(option["contingency"]),
        extras=tuple(
            Amount(what=line["what"], amount=Decimal(line["amount"])) for line in lines if line["group"] == "extra"
        ),
    )
    if quoted.profit != Decimal(option["profit"]):
        raise ValueError(f"The quote says a profit of {option['profit']}, its lines leave {quoted.profit}.")
    return quoted


def _materials(option: Mapping[str, Any]) -> tuple[QuotedMaterial, ...]:
    material_of = {line["code"]: line["material"] for line in option["takeoff"]["lines"]}
    found: dict[str, QuotedMaterial] = {}
    for line in option["lines"]:
        if line["group"] != "material":
            continue
        row = _material(line, material_of.get(line["code"]))
        before = found.get(row.code)
        found[row.code] = row if before is None else _together(before, row)
    return tuple(found.values())


def _material(line: Mapping[str, Any], material: str | None) -> QuotedMaterial:
    amount = Decimal(line["amount"])
    if material is None:  # a share of the other materials' money, not a quantity
        return QuotedMaterial(
            code=line["code"], what=line["what"], quantity=Decimal(1), unit=StockUnit.EACH, rate=amount, amount=amount
        )
    return QuotedMaterial(
        code=material,
        what=line["what"],
        quantity=Decimal(line["quantity"]),
        unit=StockUnit(line["unit"]),
        rate=Decimal(line["rate"]),
        amount=amount,
    )


def _together(first: QuotedMaterial, second: QuotedMaterial) -> QuotedMaterial:
    return replace(
        first,
        what=f"{first.what} + {second.what}",
        quantity=first.quantity + second.quantity,
        amount=first.amount + second.amount,
    )
