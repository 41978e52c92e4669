"""The desk's lists: quotes, patterns and clients as tables that sort and turn pages."""

from datetime import date
from typing import Any

import django_tables2 as tables
from django.db.models import QuerySet
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.ground.wording import day_text, money_text
from quotes.models import Client, KeptPattern, QuoteRevision

__all__ = ["ClientTable", "PatternTable", "QuoteTable"]

_RIGHT = {"td": {"class": "number"}, "th": {"class": "number"}}


class QuoteTable(tables.Table):
    """Revisions of quotes, with the client loaded. `on` is the day that says what has expired."""

    number = tables.Column(accessor="quote__number", verbose_name="No", attrs=_RIGHT)
    title = tables.Column(
        accessor="quote__title",
        verbose_name="Piece",
        linkify=("quotes:revision", {"pk": tables.A("quote_id"), "number": tables.A("number")}),
    )
    client = tables.Column(accessor="quote__client__name", verbose_name="Client")
    price = tables.Column(accessor="figures", verbose_name="Price", orderable=False, attrs=_RIGHT)
    state = tables.Column(verbose_name="State", order_by=("state", "valid_until"))

    def __init__(self, data: QuerySet[QuoteRevision], *, on: date, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.on = on

    def render_price(self, value: dict[str, Any]) -> str:
        """The first option's price, and how many stand beside it."""
        quotation = value["quotation"]
        first, *others = quotation["options"]
        price = money_text(first["gross"], quotation["currency"])
        return f"{price} and {len(others)} more" if others else price

    def render_state(self, record: QuoteRevision) -> SafeString:
        """The state on the day, and until when the offer holds."""
        state = record.standing(on=self.on)
        until = format_html(' <span class="unit">until {}</span>', day_text(record.valid_until))
        words = format_html('<span class="state state-{}">{}</span>', state.value, state.label)
        return words + until if record.valid_until else words


class PatternTable(tables.Table):
    """Kept patterns, with `revision_count` beside them."""

    name = tables.Column(verbose_name="Name", linkify=("quotes:pattern", [tables.A("pk")]))
    revision_count = tables.Column(verbose_name="Revisions", attrs=_RIGHT)
    quote = tables.Column(empty_values=(), verbose_name="", orderable=False, attrs=_RIGHT)

    class Meta:
        model = KeptPattern
        fields = ("name", "revision_count", "quote")

    def render_quote(self, record: KeptPattern) -> SafeString:
        """The way to a quote from this pattern."""
        return format_html('<a href="{}?pattern={}">Quote from it</a>', reverse("quotes:new"), record.pk)


class ClientTable(tables.Table):
    """Clients, with `measured_on` and `quote_count` beside them; nothing of their health."""

    name = tables.Column(verbose_name="Name", linkify=("quotes:client", [tables.A("pk")]))
    phone = tables.Column(verbose_name="Telephone")
    measured_on = tables.DateColumn(verbose_name="Measured", format="j F Y")
    quote_count = tables.Column(verbose_name="Quotes", attrs=_RIGHT)

    class Meta:
        model = Client
        fields = ("name", "phone", "measured_on", "quote_count")
        default = ""
