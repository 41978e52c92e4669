"""The stock list and the ledger as tables that sort, turn pages and can be taken away."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.ground.measures import BASES_PER_UNIT, quantity_text, signed_quantity_text
from inventory.ground.money import currency_of
from inventory.ground.site.paging import RIGHT
from inventory.ground.wording import late_text, minor_text
from inventory.models import Movement, StockItem
from inventory.reserving.availability import Availability
from inventory.reserving.page import largest_text

__all__ = [
    "MovementTable",
    "StockTable",
]


class StockTable(tables.Table):
    """Items with their materials loaded; `standing` says per item what is kept, coming and free."""

    item = tables.Column(
        accessor="material__name",
        verbose_name="What",
        linkify=("inventory:item", [tables.A("code")]),
        order_by=("material__name", "size_tenths_mm"),
    )
    kind = tables.Column(accessor="material__get_kind_display", verbose_name="Kind", order_by=("material__kind",))
    on_hand = tables.Column(verbose_name="On hand", attrs=RIGHT)
    kept = tables.Column(empty_values=(), verbose_name="Kept", orderable=False, attrs=RIGHT)
    coming = tables.Column(empty_values=(), verbose_name="On order", orderable=False, attrs=RIGHT)
    free = tables.Column(empty_values=(), verbose_name="Free", orderable=False, attrs=RIGHT)
    value_minor = tables.Column(verbose_name="Worth", attrs=RIGHT)
    place = tables.Column(verbose_name="Place", default="")

    def __init__(self, data: Any, *, currency: str, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.currency = currency
        self.standing: Mapping[int, Availability] = {}

    def render_item(self, record: StockItem) -> str:
        """The material, in its length where it comes in lengths."""
        return str(record)

    def render_kind(self, record: StockItem) -> SafeString | str:
        """The kind; a price from memory is said."""
        words = str(record.material.get_kind_display())
        if not record.material.is_from_memory:
            return words
        return format_html('{} <span class="unit">price from memory</span>', words)

    def value_kind(self, record: StockItem) -> str:
        """The kind alone, for a spreadsheet."""
        return str(record.material.get_kind_display())

    def render_on_hand(self, record: StockItem) -> SafeString | str:
        """What lies there whole, and the largest piece of what is cut from one."""
        words = quantity_text(record.on_hand, record.unit)
        largest = largest_text(self.standing[record.pk], record)
        return format_html('{} <span class="unit below">{}</span>', words, largest) if largest else words

    def render_kept(self, record: StockItem) -> SafeString | str:
        """What is kept for accepted work, and for quotes that are out."""
        standing = self.standing[record.pk]
        if not standing.soft:
            return quantity_text(standing.firm, record.unit) if standing.firm else ""
        firm = f"{quantity_text(standing.firm, record.unit)} + " if standing.firm else ""
        return format_html('{}<span class="unit">{} quoted</span>', firm, quantity_text(standing.soft, record.unit))

    def render_coming(self, record: StockItem) -> SafeString | str:
        """What may be counted on of open orders; what is too late for it is said."""
        standing = self.standing[record.pk]
        words = quantity_text(standing.on_order, record.unit) if standing.on_order else ""
        if not standing.overdue:
            return words
        late = late_text(max(arriving.late_days for arriving in standing.overdue))
        return format_html(
            '{} <span class="wrong below">{}: {}</span>', words, quantity_text(standing.late, record.unit), late
        )

    def render_free(self, record: StockItem) -> SafeString | str:
        """What nobody has asked for; in red where more is promised than lies there."""
        free = self.standing[record.pk].free
        words = quantity_text(free, record.unit)
        return format_html('<span class="wrong">{}</span>', words) if free < 0 else words

    def render_value_minor(self, record: StockItem) -> str:
        """What the ledger says it is worth."""
        return minor_text(record.value_minor, self.currency)

    def value_on_hand(self, record: StockItem) -> Decimal:
        """The number alone, for a spreadsheet."""
        return _amount(record.on_hand, record)

    def value_free(self, record: StockItem) -> Decimal:
        """The number alone, for a spreadsheet."""
        return _amount(self.standing[record.pk].free, record)

    def value_kept(self, record: StockItem) -> Decimal:
        """Firm and soft together, for a spreadsheet."""
        standing = self.standing[record.pk]
        return _amount(standing.firm + standing.soft, record)

    def value_coming(self, record: StockItem) -> Decimal:
        """The number alone, for a spreadsheet."""
        return _amount(self.standing[record.pk].on_order, record)

    def value_value_minor(self, record: StockItem) -> Decimal:
        """The number alone, for a spreadsheet."""
        return currency_of(self.currency).from_minor(record.value_minor)


class MovementTable(tables.Table):
    """Movements with posting, item and lot loaded."""

    day = tables.DateColumn(verbose_name="When", format="j M Y")
    item = tables.Column(verbose_name="What", linkify=("inventory:item", [tables.A("item__code")]))
    kind = tables.Column(accessor="posting__act_words", verbose_name="Act", order_by=("posting__kind",))
    quantity = tables.Column(verbose_name="How much", attrs=RIGHT)
    value_minor = tables.Column(verbose_name="Worth", attrs=RIGHT)
    lot = tables.Column(verbose_name="Lot", linkify=("inventory:lot", [tables.A("lot_id")]), orderable=False)
    job = tables.Column(
        accessor="posting__goes_to", verbose_name="For", default="", order_by=("posting__job", "posting__purpose")
    )
    by = tables.Column(accessor="posting__by", verbose_name="Who", default="")
    why = tables.Column(accessor="posting__why", verbose_name="Why", default="", attrs={"td": {"class": "how"}})

    class Meta:
        model = Movement
        fields = ("day", "item", "kind", "quantity", "value_minor", "lot", "job", "by", "why")
        default = ""

    def __init__(self, data: Any, *, currency: str, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.currency = currency

    def render_quantity(self, record: Movement) -> str:
        """With its sign."""
        return signed_quantity_text(record.quantity, record.item.unit)

    def render_value_minor(self, record: Movement) -> str:
        """With its sign."""
        return minor_text(record.value_minor, self.currency)

    def value_quantity(self, record: Movement) -> Decimal:
        """The number alone, for a spreadsheet."""
        return _amount(record.quantity, record.item)

    def value_value_minor(self, record: Movement) -> Decimal:
        """The number alone, for a spreadsheet."""
        return currency_of(self.currency).from_minor(record.value_minor)


def _amount(quantity: int, item: StockItem) -> Decimal:
    return Decimal(quantity) / BASES_PER_UNIT[item.unit]
