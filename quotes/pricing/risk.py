"""The risk of a price: how often it loses money or falls under the wage floor, and which price seldom does.

A piece is made in thought many times. Each time differ:
- the hours, by the spread of the estimate (see `quotes.labour.spread`);
- what materials cost, by one log-normal factor for the whole bill, as prices of a trade move together; its 90 % point
  is 1 + the price spread, its middle 1;
- what is spoiled beyond the waste that the takeoff counts, a share of the materials from a beta distribution of shape
  (1, 1 ÷ mean − 1): mostly little, now and then much. The hours that a spoiled part costs are in the spread of the hours.
The fee is known. Contingency is no cost here: it is set aside for just these surprises.

With kept = net − fee, passed on = materials + extras + overhead per hour × hours:
- profit = kept − passed on − labour rate × hours; a loss is a profit below 0;
- earned per hour = (kept − passed on) ÷ hours.
Both say what must be kept: passed on + wage × hours, the wage being the floor, or the labour rate for no loss. The price
at which the chance is 10 % is the 90 % point of that: net = (kept + fixed fee) ÷ (1 − fee share × (1 + tax share)).
Source: algebra of the price's own rules; Monte Carlo. The spreads that are preset stand among the desk's defaults.
"""

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

import numpy as np
from numpy.typing import NDArray

from inventory.ground.money import Currency
from quotes.defaults import desk_defaults
from quotes.labour.spread import Spread, quantile, spread_of
from quotes.pricing.costing import Rates

__all__ = [
    "Quantiles",
    "Risk",
    "RiskInputs",
    "risk",
]

DRAWS = 20_000
PRICE_SPREAD_SHARE = desk_defaults().risk.price_spread_share
SPOILED_SHARE = desk_defaults().risk.spoiled_share
SELDOM_SHARE = 0.10
"""How often the price that is looked for may fail."""

Draws = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class RiskInputs:
    """An offer and what is unsure about it.

    Attributes:
        likely_min: minutes with allowance, > 0; `hours` is how far off they may be.
        materials, extras: as costed; `net` and `fee` as offered.
        price_spread_share: nine times in ten materials cost at most this share more; >= 0.
        spoiled_share: share of the materials that is spoiled on average, from 0 to below 1.
    """

    likely_min: float
    hours: Spread
    materials: Decimal
    extras: Decimal
    net: Decimal
    fee: Decimal
    rates: Rates
    currency: Currency
    price_spread_share: float = PRICE_SPREAD_SHARE
    spoiled_share: float = SPOILED_SHARE

    def __post_init__(self) -> None:
        if self.likely_min <= 0 or self.price_spread_share < 0 or not 0 <= self.spoiled_share < 1:
            raise ValueError("Minutes are more than zero, the price spread is not negative, the spoiled share below 1.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantiles:
    """What one time in ten stays below, the middle, and what nine times in ten stay below."""

    low: Decimal
    middle: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Risk:
    """What may become of an offer.

    Attributes:
        chance_of_loss: share of draws with a profit below zero.
        chance_below_floor: share of draws that earn less per hour than the wage floor; None where none is set.
        price_at_ten_percent: the least net price at which the chance of falling under the floor (of a loss, where no
            floor is set) is 10 %; up to the next minor unit. `gross_at_ten_percent` is the same with tax.
        hours: hours worked, to a hundredth.
        materials, profit, per_hour: money, to the minor unit.
    """

    chance_of_loss: float
    chance_below_floor: float | None
    price_at_ten_percent: Decimal
    gross_at_ten_percent: Decimal
    hours: Quantiles
    materials: Quantiles
    profit: Quantiles
    per_hour: Quantiles


def risk(inputs: RiskInputs, *, seed: int, draws: int = DRAWS) -> Risk:
    """Return the risk of an offer; the same for the same inputs and seed."""
    random = np.random.default_rng(seed)
    hours = inputs.likely_min / 60 * inputs.hours.factors(random.standard_normal(draws))
    materials = float(inputs.materials) * _price_factors(inputs, random, draws) * (1 + _spoiled(inputs, random, draws))
    rates, currency = inputs.rates, inputs.currency
    kept = float(inputs.net - inputs.fee)
    passed_on = materials + float(inputs.extras) + float(rates.overhead_per_hour) * hours
    labour_rate = float(rates.labour_per_hour)
    floor = rates.minimum_per_hour
    to_lose_nothing = passed_on + labour_rate * hours
    needed = to_lose_nothing if floor is None else passed_on + float(floor) * hours
    net = _net_that_keeps(quantile(needed, 1 - SELDOM_SHARE), rates, currency)
    return Risk(
        chance_of_loss=_share_above(to_lose_nothing, kept, currency),
        chance_below_floor=None if floor is None else _share_above(needed, kept, currency),
        price_at_ten_percent=net,
        gross_at_ten_percent=net + currency.round(net * rates.tax_share, rates.rounding),
        hours=_quantiles(hours, Currency(code="", digits=2)),
        materials=_quantiles(materials, currency),
        profit=_quantiles(kept - to_lose_nothing, currency),
        per_hour=_quantiles((kept - passed_on) / hours, currency),
    )


def _price_factors(inputs: RiskInputs, random: np.random.Generator, draws: int) -> Draws:
    return spread_of(1 / (1 + inputs.price_spread_share), 1.0, 1 + inputs.price_spread_share).factors(
        random.standard_normal(draws)
    )


def _spoiled(inputs: RiskInputs, random: np.random.Generator, draws: int) -> Draws:
    if not inputs.spoiled_share:
        return np.zeros(draws)
    return random.beta(1, 1 / inputs.spoiled_share - 1, draws)


def _share_above(needed: Draws, kept: float, currency: Currency) -> float:
    """How often more is needed than is kept; by less than half a minor unit is not more."""
    return float(np.mean(needed - kept >= 0.5 * 10.0**-currency.digits))


def _net_that_keeps(kept: float, rates: Rates, currency: Currency) -> Decimal:
    net = (_decimal(kept) + rates.fee_fixed) / (1 - rates.fee_share * (1 + rates.tax_share))
    return net.quantize(currency.minor_unit, rounding=ROUND_CEILING)


def _quantiles(values: Draws, unit: Currency) -> Quantiles:
    low, middle, high = (unit.round(_decimal(quantile(values, share))) for share in (0.1, 0.5, 0.9))
    return Quantiles(low=low, middle=middle, high=high)


def _decimal(value: float) -> Decimal:
    return Decimal(repr(round(value, 9)))
