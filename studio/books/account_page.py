"""What one piece earned, in words: the sentence, the bridge drawn and line by line, each figure with its reason."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.wording import minutes_text, money_text, signed_money_text
from studio.accounts.accounting import is_out_of_date
from studio.books.page import share_text
from studio.models import PieceAccount
from studio.profit.causes import causes
from studio.profit.kept_account import account_of, actual_of, quoted_of
from studio.profit.piece import Account, Actual
from studio.profit.reasons import reason_of
from studio.profit.sentence import sentence
from studio.profit.waterfall import waterfall

__all__ = ["AccountPage", "BridgeGroup", "account_page"]

_GROUPS = {
    "Price and fees": ("change", "discount", "invoice", "fee"),
    "Materials": ("material", "spoiled"),
    "Work": ("labour", "rework"),
    "Overhead and the rest": ("overhead", "contingency", "extra"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BridgeGroup:
    """Lines of a kind: what, amount, whether it took from the profit, where it comes from."""

    title: str
    total: str
    lines: list[tuple[str, str, bool, list[tuple[str, str]]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class AccountPage:
    """The page as text."""

    sentence: str
    is_out_of_date: bool
    figures: list[tuple[str, str, str]]
    quoted: str
    groups: list[BridgeGroup]
    earned: str
    drawing: str
    costs: list[tuple[str, str]]
    losses: list[tuple[str, str, str]]


def account_page(kept: PieceAccount) -> AccountPage:
    """Return the page of an account, with its job, client and quote loaded."""
    found, quoted, actual = account_of(kept.document), quoted_of(kept.document), actual_of(kept.document)
    lines: dict[str, list[tuple[str, str, bool, list[tuple[str, str]]]]] = defaultdict(list)
    totals: dict[str, Decimal] = defaultdict(Decimal)
    for line in found.bridge:
        title = next(words for words, names in _GROUPS.items() if line.code.partition(".")[0] in names)
        reason = reason_of(line, quoted, actual, found)
        lines[title].append((line.what, _signed(line.amount, found), line.amount < 0, reason))
        totals[title] += line.amount
    return AccountPage(
        sentence=_signs_kept(sentence(found)),
        is_out_of_date=is_out_of_date(kept),
        figures=_figures(found),
        quoted=_money(found.quoted_profit, found),
        groups=[
            BridgeGroup(title=title, total=_signed(totals[title], found), lines=lines[title])
            for title in _GROUPS
            if title in lines
        ],
        earned=_money(found.profit, found),
        drawing=waterfall(found),
        costs=_costs(found, actual),
        losses=[
            (causes()[row.cause].name, _money(row.amount, found), causes()[row.cause].why) for row in found.cause_costs
        ],
    )


def _figures(found: Account) -> list[tuple[str, str, str]]:
    per_hour = "–" if found.per_hour is None else _money(found.per_hour, found)
    worked, quoted = (minutes_text(float(hours * 60)) for hours in (found.hours, found.quoted_hours))
    return [
        ("Profit", _money(found.profit, found), "Net − fee − all that it took, below."),
        ("Earned an hour", per_hour, f"(profit + labour) ÷ {worked}"),
        ("Margin", share_text(found.margin_share), "Profit ÷ net."),
        ("Worked", worked, f"Quoted: {quoted}. Of it done again: {minutes_text(float(found.rework_hours * 60))}."),
    ]


def _costs(found: Account, actual: Actual) -> list[tuple[str, str]]:
    rows = [
        ("Invoiced, without tax", found.net),
        ("Fee", -found.fee),
        ("Materials, at what the shelf’s ledger says", -found.materials),
        ("Spoiled", -found.spoiled),
        (f"Labour at {_money(actual.labour_rate, found)} an hour", -found.labour),
        (f"Overhead at {_money(actual.overhead_rate, found)} an hour", -found.overhead),
        ("Extras", -found.extras),
    ]
    return [(words, _money(amount, found)) for words, amount in rows if amount]


def _signs_kept(words: str) -> str:
    """A sign stays with its amount where the line ends: a word joiner stands between them."""
    return words.replace("(+", "(+\u2060").replace("(−", "(−\u2060")


def _signed(amount: Decimal, found: Account) -> str:
    return signed_money_text(amount, found.currency.code)


def _money(amount: Decimal, found: Account) -> str:
    return money_text(amount, found.currency.code)
