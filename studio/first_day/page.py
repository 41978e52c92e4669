"""How the rates of the first day were worked out, in words."""

from dataclasses import dataclass

from inventory.ground.money import Currency
from inventory.ground.wording import money_text, percent_text
from quotes.pricing.wished import Wish, WishedRates

__all__ = ["RateRow", "opened_words", "rate_rows"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RateRow:
    """A figure with its formula, numbers in."""

    what: str
    amount: str
    formula: str


def rate_rows(wish: Wish, rates: WishedRates, currency: Currency) -> list[RateRow]:
    """Return productive hours, wage and overhead of an hour, each with how it was worked out."""

    def money(amount: object) -> str:
        return money_text(str(amount), currency.code)

    hours = f"{rates.hours.normalize():f}"
    return [
        RateRow(
            what="Productive hours a year",
            amount=f"{hours} h",
            formula=f"{wish.weeks} weeks × {wish.hours_per_week} h × {percent_text(wish.productive_share)} at the table",
        ),
        RateRow(
            what="An hour of work costs",
            amount=money(rates.labour_per_hour),
            formula=f"{money(wish.income_per_year)} a year ÷ {hours} h",
        ),
        RateRow(
            what="An hour carries of overhead",
            amount=money(rates.overhead_per_hour),
            formula=f"{money(wish.overhead_per_year)} a year ÷ {hours} h",
        ),
    ]


def opened_words(rows: list[RateRow]) -> str:
    """Return the sentence that is said once the workroom is open."""
    return "The workroom is open. " + " ".join(f"{row.what}: {row.amount} ({row.formula})." for row in rows)
