"""The list of orders."""

from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.ground.money import currency_of
from inventory.ground.site.paging import RIGHT
from inventory.ground.wording import late_text, minor_text
from inventory.models import PurchaseOrder

__all__ = ["OrderTable"]


class OrderTable(tables.Table):
    """Orders with supplier and lines loaded and `goods_minor` beside them."""

    number = tables.Column(verbose_name="No", linkify=("inventory:order", [tables.A("number")]), attrs=RIGHT)
    supplier = tables.Column(accessor="supplier__name", verbose_name="Supplier")
    state = tables.Column(verbose_name="State")
    placed_on = tables.DateColumn(verbose_name="Placed", format="j M Y", default="")
    expected_on = tables.DateColumn(verbose_name="Expected", format="j M Y")
    goods_minor = tables.Column(verbose_name="Goods", attrs=RIGHT)

    class Meta:
        model = PurchaseOrder
        fields = ("number", "supplier", "state", "placed_on", "expected_on", "goods_minor")

    def __init__(self, data: Any, *, on: Any, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.on = on

    def render_state(self, record: PurchaseOrder) -> SafeString:
        """The state, and whether it is late."""
        late = late_text(record.days_late(on=self.on))
        words = format_html('<span class="state">{}</span>', record.state_words)
        return words + format_html(' <span class="wrong">{}</span>', late) if late else words

    def value_state(self, record: PurchaseOrder) -> str:
        """The state alone, for a spreadsheet."""
        return record.state_words

    def render_goods_minor(self, record: Any) -> str:
        """In the supplier's currency."""
        return minor_text(record.goods_minor or 0, record.currency)

    def value_goods_minor(self, record: Any) -> Decimal:
        """The number alone, for a spreadsheet."""
        return currency_of(record.currency).from_minor(record.goods_minor or 0)
