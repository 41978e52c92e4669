"""A sealed option as what was quoted of a piece."""

from dataclasses import replace
from decimal import Decimal

from inventory.ground.materials import StockUnit
from inventory.ground.money import Currency
from quotes.pricing.costing import CostLine, Rates
from quotes.seal.sealed import SealedOption
from studio.profit.piece import Amount, Quoted, QuotedMaterial, QuotedOperation

__all__ = ["quoted_from"]

RATE_DECIMALS = 6
_ACCOUNTED = ("material", "labour", "overhead", "contingency")
"""Groups of cost lines that an account follows by themselves; every other is a direct cost, as quoted until it is said."""


def quoted_from(option: SealedOption, currency: Currency, rates: Rates) -> Quoted:
    """Return what a sealed option promised.

    Materials are put together by the material's code and unit, as the shelf issues them: cloth and its bias square are
    one, bones by the metre and by the piece two.
    Sundries, which no shelf counts, stand once under their own code.

    Raises:
        ValueError: the option's profit is not what its lines leave.
    """
    quoted = Quoted(
        currency=currency,
        net=option.net,
        fee=option.fee,
        materials=_materials(option),
        operations=tuple(
            QuotedOperation(code=line.code, name=line.what, hours=line.quantity, amount=line.amount)
            for line in option.lines_of("labour")
        ),
        labour_rate=rates.labour_per_hour,
        overhead=option.overhead,
        overhead_rate=rates.overhead_per_hour,
        contingency=option.contingency,
        extras=tuple(
            Amount(what=line.what, amount=line.amount) for line in option.lines if line.group not in _ACCOUNTED
        ),
    )
    if quoted.profit != option.profit:
        raise ValueError(f"The quote says a profit of {option.profit}, its lines leave {quoted.profit}.")
    return quoted


def _materials(option: SealedOption) -> tuple[QuotedMaterial, ...]:
    materials: dict[tuple[str, StockUnit], QuotedMaterial] = {}
    for line in option.lines_of("material"):
        material = _material(line)
        key = material.code, material.unit
        materials[key] = _together(materials[key], material) if key in materials else material
    return tuple(materials.values())


def _material(line: CostLine) -> QuotedMaterial:
    if not line.material:  # a share of the other materials' money, not a quantity
        return QuotedMaterial(
            code=line.code,
            what=line.what,
            quantity=Decimal(1),
            unit=StockUnit.EACH,
            rate=line.amount,
            amount=line.amount,
        )
    return QuotedMaterial(
        code=line.material,
        what=line.what,
        quantity=line.quantity,
        unit=StockUnit(line.unit),
        rate=line.rate,
        amount=line.amount,
    )


def _together(first: QuotedMaterial, second: QuotedMaterial) -> QuotedMaterial:
    """Two lines as one; where lengths cost differently, at what one costs on average."""
    quantity, amount = first.quantity + second.quantity, first.amount + second.amount
    is_mixed = first.rate != second.rate and quantity
    return replace(
        first,
        what=f"{first.what} + {second.what}",
        quantity=quantity,
        rate=round(amount / quantity, RATE_DECIMALS) if is_mixed else first.rate,
        amount=amount,
    )
