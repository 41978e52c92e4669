"""Finished pieces as the JSON that the `profit` command prints."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from inventory.ground.money import Currency
from studio.profit.overhead import Absorption
from studio.profit.piece import Account, CauseCost
from studio.profit.sentence import sentence
from studio.profit.totals import Band, Outcome, Piece, Total, best_and_worst, total, totals_by, under_floor, win_rates

__all__ = ["Books", "profit_document"]

Document = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Books:
    """Finished pieces of a period, with what was decided and what overhead came to in it.

    Attributes:
        accounts: of the pieces, in the order in which they are printed.
        minimum_per_hour: the wage floor; None where the studio has set none, then no piece is under it.
        outcomes: the quotes that were decided in the period.
        overhead: of the period; None where nothing is entered for it.
    """

    currency: Currency
    accounts: Mapping[Piece, Account]
    minimum_per_hour: Decimal | None
    outcomes: Sequence[Outcome]
    overhead: Absorption | None


def profit_document(books: Books) -> Document:
    """Return the pieces and their totals: money as decimal strings with the currency's decimals, shares as numbers."""
    currency, floor, pieces = books.currency, books.minimum_per_hour, list(books.accounts)
    best, worst = best_and_worst(pieces)
    under = [] if floor is None else under_floor(pieces, floor.scaleb(currency.digits))
    # A client is printed by name, and each name once.
    by = {f"by_{key}": totals_by(pieces, key) for key in ("style", "construction", "client", "month")}
    return {
        "currency": currency.code,
        "pieces": [_piece(piece, account) for piece, account in books.accounts.items()],
        "totals": {
            **_total(total(pieces), currency),
            **{name: [{"key": row.key, **_total(row, currency)} for row in rows] for name, rows in by.items()},
            "best": [piece.reference for piece in best],
            "worst": [piece.reference for piece in worst],
            "minimum_per_hour": _money(floor, currency),
            "under_floor": [piece.reference for piece in under],
            "win_rates": [_band(band, currency) for band in win_rates(books.outcomes)],
            "overhead": None if books.overhead is None else _absorption(books.overhead, currency),
        },
    }


def _piece(piece: Piece, account: Account) -> Document:
    currency = account.currency
    return {
        "job": piece.reference,
        "title": piece.title,
        "delivered": piece.delivered_on.isoformat(),
        "quoted_profit": _money(account.quoted_profit, currency),
        "actual_profit": _money(account.profit, currency),
        "per_hour": _money(account.per_hour, currency),
        "margin_share": _share(account.margin_share),
        "sentence": sentence(account),
        "bridge": [
            {"code": line.code, "what": line.what, "amount": _money(line.amount, currency)} for line in account.bridge
        ],
        "net": _money(account.net, currency),
        "fee": _money(account.fee, currency),
        **_costs(account),
        "hours": _hours(account.hours),
        "quoted_hours": _hours(account.quoted_hours),
        "missing_hours": _hours(account.missing_hours),
        "losses": [_loss(row, currency) for row in account.cause_costs],
    }


def _costs(account: Account) -> Document:
    names = ("materials", "spoiled", "labour", "overhead", "extras", "cost", "own_cost")
    return {name: _money(getattr(account, name), account.currency) for name in names}


def _loss(row: CauseCost, currency: Currency) -> Document:
    return {"cause": row.cause, "borne_by": row.bearer.value, "amount": _money(row.amount, currency)}


def _total(row: Total, currency: Currency) -> Document:
    return {
        "pieces": row.pieces,
        "net": _minor(row.net_minor, currency),
        "quoted_profit": _minor(row.quoted_profit_minor, currency),
        "actual_profit": _minor(row.actual_profit_minor, currency),
        "hours": _hours(Decimal(row.minutes) / 60),
        "per_hour": None if row.per_hour_minor is None else _minor(row.per_hour_minor, currency),
        "margin_share": _share(row.margin_share),
    }


def _band(band: Band, currency: Currency) -> Document:
    return {
        "low": _minor(band.low_minor, currency),
        "high": _minor(band.high_minor, currency),
        "quotes": band.quotes,
        "won": band.won,
        "won_share": _share(band.won_share),
    }


def _absorption(found: Absorption, currency: Currency) -> Document:
    names = ("incurred", "usual_losses", "absorbed", "difference", "losses")
    return {name: _money(getattr(found, name), currency) for name in names}


def _money(amount: Decimal | None, currency: Currency) -> str | None:
    return None if amount is None else f"{currency.round(amount) + 0:f}"  # + 0: no minus on zero


def _minor(minor: int, currency: Currency) -> str:
    return f"{currency.from_minor(minor):f}"


def _hours(hours: Decimal) -> str:
    return f"{hours.quantize(Decimal('0.0001')):f}"


def _share(share: Decimal | None) -> float | None:
    return None if share is None else round(float(share), 4) + 0.0
