"""What one piece earned, in words: the sentence, the bridge drawn and line by line, each figure with its reason."""

from dataclasses import dataclass
from decimal import Decimal

from inventory.ground.wording import minor_text, minutes_text, money_text, signed_money_text
from studio.accounts.accounting import is_out_of_date
from studio.books.page import share_text
from studio.models import PieceAccount
from studio.profit.bridge import bridge_groups
from studio.profit.causes import causes
from studio.profit.piece import Account, Actual
from studio.profit.reasons import reason_of
from studio.profit.sentence import sentence
from studio.profit.waterfall import waterfall

__all__ = ["AccountPage", "BridgeRows", "account_page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BridgeRows:
    """Lines of a kind: what, amount, whether it took from the profit, where it comes from."""

    title: str
    total: str
    lines: list[tuple[str, str, bool, list[tuple[str, str]]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class AccountPage:
    """The page as text; `later` says what came after the piece's month was closed and counts elsewhere."""

    sentence: str
    is_out_of_date: bool
    figures: list[tuple[str, str, str]]
    quoted: str
    groups: list[BridgeRows]
    earned: str
    drawing: str
    costs: list[tuple[str, str]]
    losses: list[tuple[str, str, str]]
    later: list[str]


def account_page(kept: PieceAccount) -> AccountPage:
    """Return the page of an account, with its job, client and quote loaded."""
    document = kept.kept
    account, quoted, actual = document.account, document.quoted, document.actual
    return AccountPage(
        sentence=_signs_kept(sentence(account)),
        is_out_of_date=is_out_of_date(kept),
        figures=_figures(account),
        quoted=_money(account.quoted_profit, account),
        groups=[
            BridgeRows(
                title=group.title,
                total=_signed(group.amount, account),
                lines=[
                    (
                        line.what,
                        _signed(line.amount, account),
                        line.amount < 0,
                        reason_of(line, quoted, actual, account),
                    )
                    for line in group.lines
                ],
            )
            for group in bridge_groups(account.bridge)
        ],
        earned=_money(account.profit, account),
        drawing=waterfall(account),
        costs=_costs(account, actual),
        losses=[
            (causes()[cost.cause].name, _money(cost.amount, account), causes()[cost.cause].why)
            for cost in account.cause_costs
        ],
        later=_later(kept),
    )


def _later(kept: PieceAccount) -> list[str]:
    """Lower prices that were given once the account stood."""
    if kept.frozen_at is None:
        return []
    told = []
    for credit in kept.job.credits.filter(noted_at__gt=kept.frozen_at):
        amount = minor_text(abs(credit.net_minor), kept.currency)
        what = f"its price was lowered by {amount}" if credit.net_minor > 0 else f"{amount} was put back on its price"
        words = f"After its month was closed {what} without tax ({credit.why})"
        told.append(f"{words}: that counts in {credit.day:%B %Y}, under corrections.")
    return told


def _figures(account: Account) -> list[tuple[str, str, str]]:
    per_hour = "–" if account.per_hour is None else _money(account.per_hour, account)
    worked, quoted = (minutes_text(float(hours * 60)) for hours in (account.hours, account.quoted_hours))
    return [
        ("Profit", _money(account.profit, account), "Net − fee − all that it took, below."),
        ("Earned an hour", per_hour, f"(profit + labour) ÷ {worked}"),
        ("Margin", share_text(account.margin_share), "Profit ÷ net."),
        ("Worked", worked, f"Quoted: {quoted}. Of it done again: {minutes_text(float(account.rework_hours * 60))}."),
    ]


def _costs(account: Account, actual: Actual) -> list[tuple[str, str]]:
    costs = [
        ("Invoiced, without tax", actual.invoiced),
        ("Price lowered since", account.net - actual.invoiced),
        ("Fee", -account.fee),
        ("Materials, at what the shelf’s ledger says", -account.materials),
        ("Spoiled", -account.spoiled),
        (f"Labour at {_money(actual.labour_rate, account)} an hour", -account.labour),
        (f"Overhead at {_money(actual.overhead_rate, account)} an hour", -account.overhead),
        ("Extras", -account.extras),
    ]
    return [(words, _money(amount, account)) for words, amount in costs if amount]


def _signs_kept(words: str) -> str:
    """A sign stays with its amount where the line ends: a word joiner stands between them."""
    return words.replace("(+", "(+\u2060").replace("(−", "(−\u2060")


def _signed(amount: Decimal, account: Account) -> str:
    return signed_money_text(amount, account.currency.code)


def _money(amount: Decimal, account: Account) -> str:
    return money_text(amount, account.currency.code)
