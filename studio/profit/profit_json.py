"""Finished pieces as the JSON that the `profit` command prints."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from inventory.ground.money import Currency
from studio.profit.overhead import Absorption
from studio.profit.piece import Account, CauseCost
from studio.profit.sentence import sentence
from studio.profit.totals import (
    Band,
    Outcome,
    Piece,
    Total,
    best_first,
    month_of,
    total,
    totals_by,
    under_floor,
    win_rates,
)

__all__ = ["profit_document"]

Document = dict[str, Any]
BEST_AND_WORST = 3


def profit_document(
    pieces: Sequence[Piece],
    currency: Currency,
    *,
    minimum_per_hour: Decimal | None,
    outcomes: Sequence[Outcome],
    overhead: Absorption | None,
) -> Document:
    """Return the pieces and their totals: money as decimal strings with the currency's decimals, shares as numbers.

    Args:
        minimum_per_hour: the wage floor; None where the studio has set none, then no piece is under it.
        outcomes: the quotes that were decided in the period.
        overhead: of the period; None where nothing is entered for it.
    """
    ranked = best_first(pieces)
    worst = ranked[::-1][:BEST_AND_WORST]
    floor = () if minimum_per_hour is None else under_floor(pieces, minimum_per_hour)
    by = {
        "by_style": totals_by(pieces, lambda piece: piece.style, currency),
        "by_construction": totals_by(pieces, lambda piece: piece.construction, currency),
        "by_client": totals_by(pieces, lambda piece: piece.client, currency),
        "by_month": totals_by(pieces, month_of, currency),
    }
    return {
        "currency": currency.code,
        "pieces": [_piece(piece) for piece in pieces],
        "totals": {
            **_total(total(pieces, currency), currency),
            **{name: [{"key": row.key, **_total(row, currency)} for row in rows] for name, rows in by.items()},
            "best": [piece.job for piece in ranked[:BEST_AND_WORST]],
            "worst": [piece.job for piece in worst],
            "minimum_per_hour": _money(minimum_per_hour, currency),
            "under_floor": [piece.job for piece in floor],
            "win_rates": [_band(band, currency) for band in win_rates(outcomes)],
            "overhead": None if overhead is None else _absorption(overhead, currency),
        },
    }


def _piece(piece: Piece) -> Document:
    account = piece.account
    currency = account.currency
    return {
        "job": piece.job,
        "title": piece.title,
        "delivered": piece.delivered.isoformat(),
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
        "net": _money(row.net, currency),
        "quoted_profit": _money(row.quoted_profit, currency),
        "actual_profit": _money(row.profit, currency),
        "hours": _hours(row.hours),
        "per_hour": _money(row.per_hour, currency),
        "margin_share": _share(row.margin_share),
    }


def _band(band: Band, currency: Currency) -> Document:
    return {
        "low": _money(band.low, currency),
        "high": _money(band.high, currency),
        "quotes": band.quotes,
        "won": band.won,
        "won_share": _share(band.won_share),
    }


def _absorption(found: Absorption, currency: Currency) -> Document:
    names = ("incurred", "usual_losses", "absorbed", "difference", "losses")
    return {name: _money(getattr(found, name), currency) for name in names}


def _money(amount: Decimal | None, currency: Currency) -> str | None:
    return None if amount is None else f"{currency.round(amount) + 0:f}"  # + 0: no minus on zero


def _hours(hours: Decimal) -> str:
    return f"{hours.quantize(Decimal('0.0001')):f}"


def _share(share: Decimal | None) -> float | None:
    return None if share is None else round(float(share), 4) + 0.0
