"""The year's result in words: its lines, each with the rows that it sums and the way to them, and what is left for the maker."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from django.urls import reverse
from django.utils.http import urlencode

from inventory.ground.money import Currency
from inventory.ground.wording import day_text, minutes_text, money_text, signed_money_text
from studio.books.months import last_day
from studio.profit.year import About, Line, Row, Worked, YearLine, YearResult

__all__ = ["LineText", "RowText", "YearPage", "line_title", "row_words", "year_page"]

_TITLES = {
    Line.PIECES: "Profit of the pieces",
    Line.OVERHEAD: "Overhead",
    Line.SHELF: "Losses and finds of the shelf",
    Line.WITHOUT_JOB: "Issued without a job",
    Line.GIVEN_UP: "Work given up",
    Line.LATE: "After a month was closed",
    Line.REFUNDS: "Paid back on an invoice",
    Line.FEES: "Fees outside the accounts",
}
_HOW = {
    Line.PIECES: "The pieces delivered in the year, as their accounts say. What a closed month says stands.",
    Line.SHELF: (
        "What counts found or missed and what was scrapped without a job, at the ledger’s value. Goods that are washed "
        "or split off keep theirs."
    ),
    Line.WITHOUT_JOB: (
        "What was issued to no job, by what it was issued for, less what came back. Where the yearly costs hold samples "
        "already, take them out of one of the two."
    ),
    Line.GIVEN_UP: (
        "Jobs that were given up in the year: materials that did not come back, hours at the quote’s labour rate, and "
        "what the client paid and left, without the quote’s tax. Whether a kept deposit is taxed, local law says."
    ),
    Line.LATE: (
        "What pieces of closed months took or gave back later, and what their price was lowered by, without tax, counts in "
        "the year in which it was booked."
    ),
    Line.REFUNDS: "What clients got back beyond what they had paid too much, without tax: the invoice stands in the account.",
    Line.FEES: "Fees of payments for jobs that were given up, and of payments that came after a month was closed.",
}
_WORKED = {
    Worked.PLANNED: "On pieces, as planned",
    Worked.AGAIN: "On pieces, done again",
    Worked.GIVEN_UP: "On work given up",
    Worked.GOES_ON: "On work that goes on: its pay comes with its delivery",
    Worked.NOT_LOGGED: "On pieces, not logged: as planned",
    Worked.LATE: "Noted after a month was closed",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RowText:
    """A row in words; `way` is the address of what it sums, empty for none."""

    what: str
    way: str
    amount: str
    is_loss: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LineText:
    """A line in words, with how it is reckoned and its rows."""

    title: str
    amount: str
    is_loss: bool
    how: str
    rows: list[RowText]


@dataclass(frozen=True, slots=True, kw_only=True)
class YearPage:
    """The page as text."""

    year: int
    title: str
    is_empty: bool
    sentence: str
    lines: list[LineText]
    result: str
    pay: LineText
    left: str
    worked: list[tuple[str, str]]
    per_hour: str
    all_worked: str


def year_page(year: int, found: YearResult, *, on: date) -> YearPage:
    """Return the result of a year as it stands on a day, in words."""
    money = found.currency
    per_hour = "–" if found.per_hour is None else _money(found.per_hour, money)
    return YearPage(
        year=year,
        title=f"The year {year}" + (" so far" if year == on.year else ""),
        is_empty=found.is_empty,
        sentence=_sentence(year, found, on),
        lines=[
            LineText(
                title=_title(line),
                amount=signed_money_text(line.amount, money.code),
                is_loss=line.amount < 0,
                how=_how_of_overhead(found.days, has_costs=bool(line.rows))
                if line.line is Line.OVERHEAD
                else _HOW[line.line],
                rows=[_row_text(row, year, money) for row in line.rows],
            )
            for line in found.lines
        ],
        result=_money(found.result, money),
        pay=LineText(
            title="Pay for your hours",
            amount=signed_money_text(found.paid, money.code),
            is_loss=False,
            how="Labour is a cost of each piece, and nobody’s but your own pay: the lines above took it, and you keep it.",
            rows=[_row_text(row, year, money) for row in found.pay],
        ),
        left=_money(found.left, money),
        worked=[(_WORKED[kind], minutes_text(minutes)) for kind, minutes in found.minutes.items()],
        per_hour=per_hour,
        all_worked=minutes_text(found.worked_min),
    )


def _title(line: YearLine) -> str:
    match line.line, line.amount:
        case Line.OVERHEAD, amount if amount > 0:
            return "Overhead: pieces carried more than it cost"
        case Line.OVERHEAD, amount if amount < 0:
            return "Overhead: pieces carried less than it cost"
        case _:
            return _TITLES[line.line]


def line_title(line: Line) -> str:
    """Return what a line is called."""
    return _TITLES[line]


def _sentence(year: int, found: YearResult, on: date) -> str:
    so_far = " so far" if year == on.year else ""
    money = found.currency
    pieces = found.lines[0]
    count = sum(row.count for row in pieces.rows)
    made = (
        f"{count} piece{'' if count == 1 else 's'} earned {_money(pieces.amount, money)}"
        if count
        else "No piece was delivered"
    )
    hourly = f", {_money(found.per_hour, money)} for each hour worked" if found.per_hour is not None else ""
    return (
        f"{made} in {year}{so_far}; with all else the year’s result is {_money(found.result, money)}. "
        f"With the pay for your hours it left you {_money(found.left, money)}{hourly}."
    )


def _how_of_overhead(days: tuple[date, date] | None, *, has_costs: bool) -> str:
    if days is None or not has_costs:
        return (
            "No yearly costs are entered under Workroom, or no work of the year is known: what pieces were charged counts "
            "as what it cost."
        )
    first, last = days
    count = (last - first) // timedelta(days=1) + 1
    unknown = " Before that the books know no work." if first.month > 1 else ""
    return (
        f"What pieces were charged by their hours, less what the year cost: the workroom’s yearly costs as they stand "
        f"today, for {_months(first, last)}, {count} days.{unknown}"
    )


def _months(first: date, last: date) -> str:
    """The months of a stretch, the last with its day where it is not over.

    >>> _months(date(2026, 1, 1), date(2026, 11, 29)), _months(date(2025, 3, 1), date(2025, 3, 31))
    ('January to 29 November 2026', 'March 2025')
    """
    end = f"{last:%B %Y}" if last == last_day(last.replace(day=1)) else day_text(last)
    if (first.year, first.month) == (last.year, last.month):
        return end if last == last_day(first) else f"{first.day} to {end}"
    return f"{first:%B} to {end}"


def _row_text(row: Row, year: int, money: Currency) -> RowText:
    return RowText(
        what=row_words(row),
        way=_way(row, year),
        amount=signed_money_text(row.amount, money.code),
        is_loss=row.amount < 0,
    )


def row_words(row: Row) -> str:
    """Return what a row is about, in words."""
    pieces = f"{row.count} piece{'' if row.count == 1 else 's'}"
    on = f", {day_text(row.day)}" if row.day else ""
    match row.about:
        case About.MONTH:
            return f"{row.day:%B}, {pieces}"
        case About.CHANGED:
            return f"{row.what}: changed since its account was worked out"
        case About.CHARGED:
            return f"Charged to {pieces} by their hours"
        case About.COUNTED:
            return f"Counted: {row.what}{on}"
        case About.SCRAPPED:
            return f"Scrapped: {row.what}{on}"
        case About.MOVED:
            return f"Washed or split off: {row.what}{on}"
        case About.ISSUED:
            return row.what or "Without a purpose"
        case About.MATERIALS:
            return f"{row.what}: materials"
        case About.HOURS:
            return f"{row.what}: {minutes_text(row.count)} of work"
        case About.KEPT:
            return f"{row.what}: {'kept of what was paid' if row.amount >= 0 else 'went back of what was kept before'}"
        case About.LATE_MATERIALS:
            return f"{row.key}: {row.what}{on}"
        case About.LATE_CREDIT:
            return f"{row.what}: its price was {'lowered' if row.amount < 0 else 'put back'}{on}"
        case About.MADE_GOOD:
            return f"{row.what}: paid back before, and let off its price{on}"
        case About.REFUND | About.FEE:
            return f"Receipt {row.key}, {row.what}{on}"
        case About.PAY_OF_PIECES:
            return f"In the accounts of {pieces}"
        case About.PAY_OF_GIVEN_UP:
            return f"{row.what}: {minutes_text(row.count)} of work"
        case _:
            return row.what


def _way(row: Row, year: int) -> str:
    """The way to what a row sums, no more of it than the year's."""
    of_the_year = {"since": date(year, 1, 1), "until": date(year, 12, 31)}
    match row.about:
        case About.MONTH if row.day:
            return _asked("books", since=row.day, until=last_day(row.day))
        case About.CHARGED | About.PAY_OF_PIECES if row.count:
            return _asked("books", **of_the_year)
        case About.CHANGED | About.LATE_CREDIT | About.MADE_GOOD:
            return reverse("account", args=[row.key])
        case About.COST:
            return reverse("quotes:overhead")
        case About.COUNTED | About.SCRAPPED | About.MOVED if row.day:
            kind = {About.COUNTED: "count", About.SCRAPPED: "scrap"}.get(row.about, "")
            return _asked("inventory:movements", kind=kind, since=row.day, until=row.day)
        case About.USED:
            return _asked("inventory:movements", purpose=row.key, **of_the_year)
        case About.ISSUED if row.key:
            return _asked("inventory:movements", job=row.key, **of_the_year)
        case About.MATERIALS | About.LATE_MATERIALS:
            return _asked("inventory:movements", job=row.key)
        case About.HOURS | About.PAY_OF_GIVEN_UP:
            return reverse("job", args=[row.key])
        case About.KEPT:
            return reverse("job-client", args=[row.key])
        case About.REFUND | About.FEE:
            return reverse("receipt", args=[row.key])
        case _:
            return ""


def _asked(page: str, **asked: date | str) -> str:
    """A list, narrowed."""
    return f"{reverse(page)}?{urlencode({name: f'{value}' for name, value in asked.items() if value})}"


def _money(amount: Decimal, money: Currency) -> str:
    return money_text(amount, money.code)
