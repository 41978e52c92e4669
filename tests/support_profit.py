"""Quotes and what became of them, for tests of profit: one builder each, everything nothing unless said."""

from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from inventory.ground.materials import StockUnit
from inventory.ground.money import Currency, currency_of
from studio.profit.causes import causes
from studio.profit.piece import (
    Account,
    Actual,
    Amount,
    Quoted,
    QuotedMaterial,
    QuotedOperation,
    Rework,
    Spoiled,
    UsedMaterial,
    WorkedOperation,
)

__all__ = ["EUR", "JPY", "KWD", "actual", "bridge_of", "d", "done", "jobs", "op", "planned", "quoted", "used"]

EUR, JPY, KWD = currency_of("EUR"), currency_of("JPY"), currency_of("KWD")


def d(text: str) -> Decimal:
    return Decimal(text)


def bridge_of(found: Account) -> dict[str, Decimal]:
    """The bridge's amounts by code; a code that came twice would be lost, so that is looked at first."""
    codes = [line.code for line in found.bridge]
    assert len(codes) == len(set(codes))
    return {line.code: line.amount for line in found.bridge}


def quoted(**said: Any) -> Quoted:
    nothing: dict[str, Any] = {
        "currency": EUR,
        "materials": (),
        "operations": (),
        "extras": (),
        **dict.fromkeys(("net", "fee", "labour_rate", "overhead", "overhead_rate", "contingency"), Decimal(0)),
    }
    return Quoted(**{**nothing, **said})


def actual(**said: Any) -> Actual:
    nothing: dict[str, Any] = {
        **dict.fromkeys(("change_orders", "materials", "spoiled", "hours", "rework", "extras"), ()),
        **dict.fromkeys(("net", "fee", "discount", "labour_rate", "overhead_rate"), Decimal(0)),
    }
    return Actual(**{**nothing, **said})


def planned(
    code: str, quantity: str, rate: str, *, what: str = "", unit: StockUnit = StockUnit.METRE
) -> QuotedMaterial:
    amount = EUR.round(d(quantity) * d(rate))
    return QuotedMaterial(code=code, what=what or code, quantity=d(quantity), unit=unit, rate=d(rate), amount=amount)


def used(code: str, quantity: str, value: str, *, what: str = "", unit: StockUnit = StockUnit.METRE) -> UsedMaterial:
    return UsedMaterial(code=code, what=what or code, quantity=d(quantity), unit=unit, value=d(value))


def op(code: str, hours: str, amount: str, *, name: str = "") -> QuotedOperation:
    return QuotedOperation(code=code, name=name or code, hours=d(hours), amount=d(amount))


def done(code: str, hours: str, *, name: str = "") -> WorkedOperation:
    return WorkedOperation(code=code, name=name or code, hours=d(hours))


@st.composite
def jobs(draw: st.DrawFn, currency: Currency | None = None) -> tuple[Quoted, Actual]:
    """A random job: materials and operations quoted and not used, used and not quoted, some in several rows."""
    money = currency or draw(st.sampled_from([EUR, JPY, KWD]))

    def amount(least: int = 0) -> Decimal:
        return money.from_minor(draw(st.integers(least, 10**6)))

    def quantity() -> Decimal:
        return Decimal(draw(st.integers(0, 9999))) / 1000

    def hours() -> Decimal:
        return Decimal(draw(st.integers(0, 2000))) / 60

    def names(of: str, *, unique: bool = True) -> list[str]:
        return draw(st.lists(st.sampled_from([f"{of}{number}" for number in range(5)]), max_size=5, unique=unique))

    def amounts(least: int = 0) -> tuple[Amount, ...]:
        return tuple(Amount(what=what, amount=amount(least)) for what in names("x", unique=False))

    cause = st.sampled_from(list(causes()))
    labour_rate, overhead_rate = amount(), amount()
    return (
        Quoted(
            currency=money,
            net=amount(),
            fee=amount(),
            materials=tuple(
                QuotedMaterial(
                    code=code, what=code, quantity=quantity(), unit=StockUnit.METRE, rate=quantity(), amount=amount()
                )
                for code in names("m")
            ),
            operations=tuple(
                QuotedOperation(code=code, name=code, hours=hours(), amount=amount()) for code in names("o")
            ),
            labour_rate=labour_rate,
            overhead=amount(),
            overhead_rate=overhead_rate,
            contingency=amount(),
            extras=amounts(),
        ),
        Actual(
            net=amount(),
            fee=amount(),
            change_orders=amounts(-(10**5)),
            discount=amount(),
            materials=tuple(
                UsedMaterial(code=code, what=code, quantity=quantity(), unit=StockUnit.METRE, value=amount())
                for code in names("m", unique=False)
            ),
            spoiled=tuple(Spoiled(cause=draw(cause), value=amount()) for _ in names("s")),
            hours=tuple(WorkedOperation(code=code, name=code, hours=hours()) for code in names("o", unique=False)),
            rework=tuple(Rework(cause=draw(cause), hours=hours()) for _ in names("r")),
            labour_rate=draw(st.just(labour_rate) | st.integers(0, 9999).map(money.from_minor)),
            overhead_rate=draw(st.just(overhead_rate) | st.integers(0, 9999).map(money.from_minor)),
            extras=amounts(),
        ),
    )
