"""The list of quotes: revisions as a table that sorts and turns pages."""

from datetime import date
from typing import Any

import django_tables2 as tables
from django.db.models import QuerySet
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.ground.site.paging import RIGHT
from inventory.ground.wording import day_text, money_text
from quotes.models import QuoteRevision

__all__ = ["QuoteTable"]


class QuoteTable(tables.Table):
    """Revisions of quotes, with the client loaded. `on` is the day that says what has expired."""

    number = tables.Column(accessor="quote__number", verbose_name="No", attrs=RIGHT)
    title = tables.Column(
        accessor="quote__title",
        verbose_name="Piece",
        linkify=("quotes:revision", {"pk": tables.A("quote_id"), "number": tables.A("number")}),
    )
    client = tables.Column(accessor="quote__client__name", verbose_name="Client")
    price = tables.Column(empty_values=(), verbose_name="Price", orderable=False, attrs=RIGHT)
    state = tables.Column(verbose_name="State", order_by=("state", "valid_until"))

    def __init__(self, data: QuerySet[QuoteRevision] | list[QuoteRevision], *, on: date, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.on = on

    def render_price(self, record: QuoteRevision) -> str:
        """The first option's price, and how many stand beside it."""
        quotation = record.snapshot.quotation
        first, *others = quotation.options
        price = money_text(first.gross, quotation.currency)
        return f"{price} and {len(others)} more" if others else price

    def render_state(self, record: QuoteRevision) -> SafeString:
        """The state on the day, and until when the offer holds."""
        state = record.standing(on=self.on)
        until = format_html(' <span class="unit">until {}</span>', day_text(record.valid_until))
        words = format_html('<span class="state state-{}">{}</span>', state.value, state.label)
        return words + until if record.valid_until else words
