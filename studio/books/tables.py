"""The books' lists: finished pieces one by one, and put together by what they share."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.db.models import QuerySet
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.ground.money import Currency
from inventory.ground.wording import minor_text, minutes_text
from studio.books.page import share_text
from studio.models import PieceAccount
from studio.profit.totals import Total

__all__ = ["PER_PAGE", "PieceTable", "SumsTable"]

PER_PAGE = 25
_WHOLE = {"td": {"class": "one-line"}}
_RIGHT = {name: {"class": "number"} for name in ("td", "th", "tf")}


class _SummedColumn(tables.Column):
    """Figures to the right, with what they come to below: the attribute `of` of the table's `together`."""

    def __init__(self, *, of: str, **kwargs: Any) -> None:
        self.of = of
        super().__init__(attrs=_RIGHT, **kwargs)

    def render_footer(self, table: Any) -> SafeString | str:
        """The figure of all rows."""
        words: SafeString | str = self.shown(getattr(table.together, self.of), table)
        return words

    def render(self, value: Any, table: Any) -> SafeString | str:
        """As people read it; in red below nothing."""
        words: SafeString | str = self.shown(value, table)
        return format_html('<span class="wrong">{}</span>', words) if value is not None and value < 0 else words

    def value(self, value: Any, table: Any) -> Any:
        """The number alone, for a spreadsheet."""
        return value

    def shown(self, value: Any, table: Any) -> str:
        """A value in words; a dash for none."""
        return str(value)


class MoneyColumn(_SummedColumn):
    """Amounts in minor units of the table's currency."""

    def shown(self, value: int | None, table: Any) -> str:
        """With the currency's sign."""
        return "–" if value is None else minor_text(value, table.currency.code)

    def value(self, value: int | None, table: Any) -> Decimal | None:
        """The number alone, for a spreadsheet."""
        return None if value is None else table.currency.from_minor(value)


class TimeColumn(_SummedColumn):
    """Minutes of work."""

    exported_as = "Minutes"

    def shown(self, value: int, table: Any) -> str:
        """In hours and minutes."""
        return minutes_text(value)


class ShareColumn(_SummedColumn):
    """Shares from 0 to 1, unrounded."""

    def shown(self, value: Decimal | None, table: Any) -> str:
        """In percent."""
        return share_text(value)

    def value(self, value: Decimal | None, table: Any) -> Decimal | None:
        """The share alone, for a spreadsheet."""
        return None if value is None else round(value, 4)


class PieceTable(tables.Table):
    """Finished pieces, with job and client loaded, `margin_millionths` and `tax_minor` beside them.

    Columns of `FOR_SPREADSHEETS` are shown in exports alone.
    """

    FOR_SPREADSHEETS = ("style", "construction", "tax", "fee")

    number = tables.Column(accessor="job__reference", verbose_name="No", order_by=("job_id",), attrs=_WHOLE)
    title = tables.Column(
        accessor="job__title",
        verbose_name="Piece",
        linkify=("account", [tables.A("job__reference")]),
        footer="Together",
    )
    client = tables.Column(accessor="job__client__name", verbose_name="Client")
    style = tables.Column(verbose_name="Style", visible=False)
    construction = tables.Column(verbose_name="Construction", visible=False)
    delivered_on = tables.DateColumn(verbose_name="Delivered", format="j M Y", attrs=_WHOLE)
    net = MoneyColumn(accessor="net_minor", verbose_name="Net", of="net_minor")
    tax = tables.Column(accessor="tax_minor", verbose_name="Tax", visible=False)
    fee = tables.Column(accessor="job__fee_minor", verbose_name="Fee", visible=False)
    quoted = MoneyColumn(accessor="quoted_profit_minor", verbose_name="Quoted profit", of="quoted_profit_minor")
    profit = MoneyColumn(accessor="actual_profit_minor", verbose_name="Profit", of="actual_profit_minor")
    minutes = TimeColumn(verbose_name="Time", of="minutes")
    per_hour = MoneyColumn(accessor="per_hour_minor", verbose_name="An hour", of="per_hour_minor")
    margin = ShareColumn(empty_values=(), verbose_name="Margin", of="margin_share", order_by=("margin_millionths",))

    def __init__(self, data: Any, *, currency: Currency, together: Total, **kwargs: Any) -> None:
        self.currency, self.together = currency, together
        super().__init__(data, **kwargs)

    def render_per_hour(self, record: PieceAccount, column: MoneyColumn) -> SafeString | str:
        """Earned for each hour; in red under the wage floor, a dash where no hour was logged, none that is not sure."""
        if record.is_unsure:
            return format_html('<span class="unit">{}</span>', "time missing")
        words = column.shown(record.per_hour_minor if record.minutes else None, self)
        return format_html('<span class="wrong">{}</span>', words) if record.is_under_floor else words

    def value_per_hour(self, record: PieceAccount) -> Decimal | None:
        """The number alone, for a spreadsheet."""
        return self.currency.from_minor(record.per_hour_minor) if record.minutes and not record.is_unsure else None

    def order_per_hour(
        self, pieces: QuerySet[PieceAccount], is_descending: bool
    ) -> tuple[QuerySet[PieceAccount], bool]:
        """By what was earned for an hour; pieces whose time is not sure come last either way."""
        return pieces.order_by("is_unsure", f"{'-' if is_descending else ''}per_hour_minor", "-pk"), True

    def render_margin(self, record: PieceAccount, column: ShareColumn) -> SafeString | str:
        """Profit as a share of net."""
        return column.render(record.margin_share, self)

    def value_margin(self, record: PieceAccount, column: ShareColumn) -> Decimal | None:
        """The share alone, for a spreadsheet."""
        return column.value(record.margin_share, self)

    def value_tax(self, value: int) -> Decimal:
        """The number alone, for a spreadsheet."""
        return self.currency.from_minor(value)

    def value_fee(self, value: int) -> Decimal:
        """The number alone, for a spreadsheet."""
        return self.currency.from_minor(value)


class SumsTable(tables.Table):
    """Pieces put together by a key. `words` says a key, `way` gives it its address in the list of pieces."""

    key = tables.Column(footer="Together")
    pieces = _SummedColumn(verbose_name="Pieces", of="pieces")
    net = MoneyColumn(accessor="net_minor", verbose_name="Net", of="net_minor")
    quoted = MoneyColumn(accessor="quoted_profit_minor", verbose_name="Quoted profit", of="quoted_profit_minor")
    profit = MoneyColumn(accessor="actual_profit_minor", verbose_name="Profit", of="actual_profit_minor")
    minutes = TimeColumn(verbose_name="Time", of="minutes")
    per_hour = MoneyColumn(accessor="per_hour_minor", verbose_name="An hour", of="per_hour_minor", empty_values=())
    margin = ShareColumn(accessor="margin_share", verbose_name="Margin", of="margin_share", empty_values=())
    under_floor = _SummedColumn(verbose_name="Under the floor", of="under_floor")

    def __init__(
        self,
        data: Sequence[Total],
        *,
        currency: Currency,
        together: Total,
        heading: str,
        words: Callable[[str], str],
        way: Callable[[str], str],
        **kwargs: Any,
    ) -> None:
        self.currency, self.together, self.words, self.way = currency, together, words, way
        super().__init__(data, **kwargs)
        self.columns["key"].column.verbose_name = heading

    def render_key(self, value: str) -> SafeString:
        """What the pieces share, as the way to them."""
        return format_html('<a href="{}">{}</a>', self.way(value), self.words(value))

    def value_key(self, value: str) -> str:
        """The words alone, for a spreadsheet."""
        return self.words(value)
