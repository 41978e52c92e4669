"""What may become of an offer, in words: the chance of a loss or of too low a wage, and the price that seldom fails."""

from dataclasses import dataclass
from typing import Any

from inventory.ground.money import currency_of
from inventory.ground.wording import money_text, percent_text
from quotes.pricing.risk import DRAWS, PRICE_SPREAD_SHARE, SPOILED_SHARE, Quantiles
from quotes.seal.risks import risk_of
from quotes.seal.snapshot import Snapshot

__all__ = ["RiskPage", "risk_page"]

SEED = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class RiskPage:
    """One option's risk as text: figures with their reasons, and a table of low, middle and high."""

    name: str
    figures: list[tuple[str, str, list[tuple[str, str]]]]
    spreads: list[tuple[str, str, str, str]]


def risk_page(snapshot: Snapshot, index: int) -> RiskPage:
    """Return the risk of an option of a snapshot. Raises Refused for one without work."""
    quotation = snapshot.quotation
    option = quotation.options[index]
    currency = currency_of(quotation.currency)
    risk = risk_of(option, snapshot.rates, currency, seed=SEED)

    def money(amount: Any) -> str:
        return money_text(amount, currency.code)

    def spread(words: str, values: Quantiles, unit: str = "") -> tuple[str, str, str, str]:
        low, middle, high = (
            f"{value:f} {unit}" if unit else money(value) for value in (values.low, values.middle, values.high)
        )
        return (words, low, middle, high)

    how = [
        ("Counted", f"{DRAWS:,} pieces made in thought.".replace(",", " ")),
        ("Hours", "Low, likely and high of the estimate are met one, five and nine times in ten."),
        (
            "Materials",
            f"Prices move together, nine times in ten by at most {percent_text(str(PRICE_SPREAD_SHARE))}; "
            f"{percent_text(str(SPOILED_SHARE))} is spoiled on average beyond the waste that is counted.",
        ),
        ("Source", "Algebra of the price's own rules; the spreads are common practice."),
    ]
    chances = [("Chance of a loss", percent_text(str(round(risk.chance_of_loss, 3))), how)]
    if risk.chance_below_floor is not None:
        floor = money(snapshot.rates.minimum_per_hour)
        chances.append(
            (f"Chance of less than {floor} an hour", percent_text(str(round(risk.chance_below_floor, 3))), how)
        )
    goal = "a loss" if risk.chance_below_floor is None else "too low a wage"
    chances.append(
        (
            f"Price with {goal} one time in ten",
            money(risk.gross_at_ten_percent),
            [
                (
                    "Formula",
                    "(What nine times in ten must be kept + fixed fee) ÷ (1 − fee share × (1 + tax)), then tax.",
                ),
                *how,
            ],
        )
    )
    chances.append(("Price as quoted", money(option.gross), [("Counted", "The option's own price.")]))
    return RiskPage(
        name=option.name,
        figures=chances,
        spreads=[
            spread("Hours", risk.hours, "h"),
            spread("Materials", risk.materials),
            spread("Profit", risk.profit),
            spread("Earned an hour", risk.per_hour),
        ],
    )
