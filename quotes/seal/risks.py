"""What is unsure about a sealed option, and what may become of it."""

from inventory.ground.findings import refuse
from inventory.ground.money import Currency
from quotes.labour.spread import spread_of
from quotes.pricing.costing import Rates
from quotes.pricing.risk import PRICE_SPREAD_SHARE, SPOILED_SHARE, Risk, RiskInputs, risk
from quotes.seal.sealed import SealedOption

__all__ = ["risk_inputs", "risk_of"]


def risk_inputs(option: SealedOption, rates: Rates, currency: Currency) -> RiskInputs:
    """Return what is unsure about a sealed option, with the rates that it was priced by.

    Raises:
        Refused: an option without work.
    """
    labour = option.takeoff.labour
    if labour.total_min <= 0:
        raise refuse("risk.no-work", option.name, "The option has no work in it, so that nothing about it is unsure.")
    return RiskInputs(
        likely_min=labour.total_min,
        hours=spread_of(labour.low_min, labour.total_min, labour.high_min),
        materials=option.materials,
        extras=option.extras,
        net=option.net,
        fee=option.fee,
        rates=rates,
        currency=currency,
        price_spread_share=PRICE_SPREAD_SHARE,
        spoiled_share=SPOILED_SHARE,
    )


def risk_of(option: SealedOption, rates: Rates, currency: Currency, *, seed: int) -> Risk:
    """Return the risk of a sealed option, with the preset spreads. Raises as `risk_inputs`."""
    return risk(risk_inputs(option, rates, currency), seed=seed)
