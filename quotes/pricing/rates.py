"""Rates as a commission file says them: read strictly, every fault with its path."""

from decimal import Decimal
from typing import Any

from inventory.ground.findings import Finding, Refused, stop
from inventory.ground.money import Currency, RoundingRule
from inventory.ground.reading import decimal_at
from quotes.pricing.costing import Rates

__all__ = ["overhead_per_hour", "productive_hours", "read_rates"]

_SHARES = ("contingency_share", "margin_share", "fee_share", "tax_share", "discount_share", "rush_share")
_AMOUNTS = ("labour_per_hour", "overhead_per_hour", "fee_fixed", "minimum_per_hour", "price_step")
_OPTIONAL = {"discount_share", "rush_share", "minimum_per_hour", "price_step"}
_OTHERS = ("tax_included", "deposit_shares", "rounding")
MOST_TAX, MOST_RUSH = Decimal(2), Decimal(5)


def read_rates(document: object, currency: Currency) -> Rates:
    """Return the rates that `document` says.

    Raises:
        Refused: unknown or missing keys, shares outside 0 to 1, amounts below zero or finer than the currency,
            margin and fee that leave nothing, deposit shares that do not add up to 1.
    """
    if not isinstance(document, dict):
        raise Refused([stop("rates.not-an-object", "rates", "rates must be an object.")])
    faults: list[Finding] = []
    known = (*_SHARES, *_AMOUNTS, *_OTHERS)
    for key in document:
        if key not in known:
            faults.append(
                stop(
                    "rates.unknown-key",
                    f"rates.{key[:60]}",
                    f"The rate {key[:60]!r} is not known.",
                    f"Known are {', '.join(known)}.",
                )
            )
    values: dict[str, Decimal] = {}
    for key in (*_SHARES, *_AMOUNTS):
        place = f"rates.{key}"
        if document.get(key) is None:
            if key not in _OPTIONAL:
                faults.append(stop("rates.missing-key", place, f"The rate {key!r} is missing."))
            continue
        value = decimal_at(document[key], place)
        if isinstance(value, Finding):
            faults.append(value)
            continue
        values[key] = value
        faults += _share_faults(key, value, place) if key in _SHARES else _amount_faults(key, value, place, currency)
    included = document.get("tax_included")
    if not isinstance(included, bool):
        faults.append(stop("rates.tax-included", "rates.tax_included", "tax_included must be true or false."))
    rounding = document.get("rounding", RoundingRule.HALF_UP.value)
    if rounding not in [rule.value for rule in RoundingRule]:
        faults.append(
            stop(
                "rates.rounding",
                "rates.rounding",
                f"{str(rounding)[:40]!r} is no rounding rule.",
                f"Choose {', '.join(rule.value for rule in RoundingRule)}.",
            )
        )
    deposit = _deposit(document.get("deposit_shares"), "rates.deposit_shares")
    if isinstance(deposit, Finding):
        faults.append(deposit)
    if not faults:
        faults += _leaves_nothing(values)
    if faults or isinstance(deposit, Finding):
        raise Refused(faults)
    return Rates(
        labour_per_hour=values["labour_per_hour"],
        overhead_per_hour=values["overhead_per_hour"],
        contingency_share=values["contingency_share"],
        margin_share=values["margin_share"],
        fee_share=values["fee_share"],
        fee_fixed=values["fee_fixed"],
        tax_share=values["tax_share"],
        tax_included=bool(included),
        deposit_shares=deposit,
        minimum_per_hour=values.get("minimum_per_hour"),
        discount_share=values.get("discount_share", Decimal(0)),
        rush_share=values.get("rush_share", Decimal(0)),
        price_step=values.get("price_step"),
        rounding=RoundingRule(rounding),
    )


def productive_hours(*, weeks: int, hours_per_week: int, productive_share: Decimal) -> Decimal:
    """Return the hours of a year that are sold.

    >>> productive_hours(weeks=46, hours_per_week=35, productive_share=Decimal("0.60"))
    Decimal('966.00')
    """
    return weeks * hours_per_week * productive_share


def overhead_per_hour(
    yearly_costs: Decimal, *, weeks: int, hours_per_week: int, productive_share: Decimal, currency: Currency
) -> Decimal:
    """Return what each productive hour carries of the year's costs, rounded to the minor unit.

    Formula: yearly costs ÷ (weeks × hours × productive share); never all hours worked (common practice).

    >>> from inventory.ground.money import currency_of
    >>> half = Decimal("0.60")
    >>> overhead_per_hour(Decimal(7728), weeks=46, hours_per_week=35, productive_share=half, currency=currency_of("EUR"))
    Decimal('8.00')
    """
    hours = productive_hours(weeks=weeks, hours_per_week=hours_per_week, productive_share=productive_share)
    if hours <= 0:
        raise ValueError("The year has no productive hours.")
    return currency.round(yearly_costs / hours)


def _share_faults(key: str, value: Decimal, place: str) -> list[Finding]:
    most = {"tax_share": MOST_TAX, "rush_share": MOST_RUSH}.get(key, Decimal(1))
    if not 0 <= value <= most:
        return [stop("rates.share", place, f"A share of {value} is outside 0 to {most}.", "Write 0.15 for 15 %.")]
    return []


def _amount_faults(key: str, value: Decimal, place: str, currency: Currency) -> list[Finding]:
    if value < 0:
        return [stop("rates.negative", place, f"{value} is below zero.")]
    if not currency.is_exact(value):
        return [
            stop(
                "money.too-many-decimals",
                place,
                f"{value} has more decimals than {currency.code} has ({currency.digits}).",
                "Round it.",
            )
        ]
    if key == "price_step" and value == 0:
        return [
            stop("rates.price-step", place, "A price step of 0 rounds to nothing.", "Leave it out for exact prices.")
        ]
    return []


def _deposit(value: Any, place: str) -> tuple[Decimal, ...] | Finding:
    if not isinstance(value, list) or not 1 <= len(value) <= 12:
        return stop("rates.deposit", place, "deposit_shares must be a list of 1 to 12 shares.", 'Write ["0.5", "0.5"].')
    shares = []
    for index, item in enumerate(value):
        share = decimal_at(item, f"{place}[{index}]")
        if isinstance(share, Finding):
            return share
        if not 0 <= share <= 1:
            return stop("rates.deposit", f"{place}[{index}]", f"A share of {share} is outside 0 to 1.")
        shares.append(share)
    if sum(shares) != 1:
        return stop("rates.deposit", place, f"The deposit shares add up to {sum(shares)}, not to 1.")
    return tuple(shares)


def _leaves_nothing(values: dict[str, Decimal]) -> list[Finding]:
    """Margin and fee are shares of the price: together with tax on the fee they must leave something for the cost."""
    taken = values["margin_share"] + values["fee_share"] * (1 + values["tax_share"])
    if taken >= 1:
        return [
            stop(
                "rates.nothing-left",
                "rates.margin_share",
                f"Margin and fee take {taken:.3f} of the net price; nothing is left for the cost.",
                "Lower the margin or the fee; a margin is a share of the price, not of the cost.",
            )
        ]
    if values.get("discount_share", Decimal(0)) - values.get("rush_share", Decimal(0)) >= 1:
        return [stop("rates.nothing-left", "rates.discount_share", "The discount takes the whole price.")]
    return []
