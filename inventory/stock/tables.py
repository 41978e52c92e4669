"""The shelf's lists as tables that sort, turn pages and can be taken away."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

import django_tables2 as tables
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.ground.measures import BASES_PER_UNIT, quantity_text, signed_quantity_text
from inventory.ground.money import currency_of
from inventory.ground.wording import day_text, minor_text
from inventory.models import Movement, PurchaseOrder, Reservation, StockItem, Supplier
from inventory.reserving.availability import Availability

__all__ = ["MovementTable", "OrderTable", "ReservationTable", "StockTable", "SupplierTable"]

_RIGHT = {"td": {"class": "number"}, "th": {"class": "number"}}


class StockTable(tables.Table):
    """Items with their materials loaded; `standing` says per item what is kept, coming and free."""

    item = tables.Column(
        accessor="material__name",
        verbose_name="What",
        linkify=("inventory:item", [tables.A("code")]),
        order_by=("material__name", "size_tenths_mm"),
    )
    kind = tables.Column(accessor="material__get_kind_display", verbose_name="Kind", order_by=("material__kind",))
    on_hand = tables.Column(verbose_name="On hand", attrs=_RIGHT)
    kept = tables.Column(empty_values=(), verbose_name="Kept", orderable=False, attrs=_RIGHT)
    coming = tables.Column(empty_values=(), verbose_name="On order", orderable=False, attrs=_RIGHT)
    free = tables.Column(empty_values=(), verbose_name="Free", orderable=False, attrs=_RIGHT)
    value_minor = tables.Column(verbose_name="Worth", attrs=_RIGHT)
    place = tables.Column(verbose_name="Place", default="")

    def __init__(self, data: Any, *, currency: str, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.currency = currency
        self.standing: Mapping[int, Availability] = {}

    def render_item(self, record: StockItem) -> str:
        """The material, in its length where it comes in lengths."""
        return str(record)

    def render_on_hand(self, record: StockItem) -> str:
        """What lies there whole."""
        return quantity_text(record.on_hand, record.unit)

    def render_kept(self, record: StockItem) -> SafeString | str:
        """What is kept for accepted work, and for quotes that are out."""
        row = self.standing[record.pk]
        if not row.soft:
            return quantity_text(row.firm, record.unit) if row.firm else ""
        firm = f"{quantity_text(row.firm, record.unit)} + " if row.firm else ""
        return format_html('{}<span class="unit">{} quoted</span>', firm, quantity_text(row.soft, record.unit))

    def render_coming(self, record: StockItem) -> str:
        """What open orders bring."""
        row = self.standing[record.pk]
        return quantity_text(row.on_order, record.unit) if row.on_order else ""

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
        row = self.standing[record.pk]
        return _amount(row.firm + row.soft, record)

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
    kind = tables.Column(accessor="posting__get_kind_display", verbose_name="Act", order_by=("posting__kind",))
    quantity = tables.Column(verbose_name="How much", attrs=_RIGHT)
    value_minor = tables.Column(verbose_name="Worth", attrs=_RIGHT)
    lot = tables.Column(verbose_name="Lot", linkify=("inventory:lot", [tables.A("lot_id")]), orderable=False)
    job = tables.Column(accessor="posting__job", verbose_name="Job", default="")
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


class SupplierTable(tables.Table):
    """Suppliers with `offer_count` beside them."""

    name = tables.Column(verbose_name="Supplier", linkify=("inventory:supplier", [tables.A("code")]))
    lead_days = tables.Column(verbose_name="Takes", attrs=_RIGHT)
    postage_minor = tables.Column(verbose_name="Postage", attrs=_RIGHT)
    postage_free_from_minor = tables.Column(verbose_name="Free from", attrs=_RIGHT)
    offer_count = tables.Column(verbose_name="Offers", attrs=_RIGHT)

    class Meta:
        model = Supplier
        fields = ("name", "lead_days", "postage_minor", "postage_free_from_minor", "offer_count")
        default = ""

    def render_lead_days(self, record: Supplier) -> str:
        """With its spread."""
        spread = f" ± {record.lead_spread_days}" if record.lead_spread_days else ""
        return f"{record.lead_days}{spread} days"

    def render_postage_minor(self, record: Supplier) -> str:
        """In the supplier's currency."""
        return minor_text(record.postage_minor, record.currency)

    def value_postage_minor(self, record: Supplier) -> Decimal:
        """The number alone, for a spreadsheet."""
        return currency_of(record.currency).from_minor(record.postage_minor)

    def value_postage_free_from_minor(self, record: Supplier) -> Decimal:
        """The number alone, for a spreadsheet."""
        return currency_of(record.currency).from_minor(record.postage_free_from_minor or 0)

    def render_postage_free_from_minor(self, record: Supplier) -> str:
        """In the supplier's currency."""
        return minor_text(record.postage_free_from_minor or 0, record.currency)


class OrderTable(tables.Table):
    """Orders with the supplier loaded and `goods_minor` beside them."""

    number = tables.Column(verbose_name="No", linkify=("inventory:order", [tables.A("number")]), attrs=_RIGHT)
    supplier = tables.Column(accessor="supplier__name", verbose_name="Supplier")
    state = tables.Column(verbose_name="State")
    placed_on = tables.DateColumn(verbose_name="Placed", format="j M Y", default="")
    expected_on = tables.DateColumn(verbose_name="Expected", format="j M Y")
    goods_minor = tables.Column(verbose_name="Goods", attrs=_RIGHT)

    class Meta:
        model = PurchaseOrder
        fields = ("number", "supplier", "state", "placed_on", "expected_on", "goods_minor")

    def __init__(self, data: Any, *, on: Any, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.on = on

    def render_state(self, record: PurchaseOrder) -> SafeString:
        """The state, and whether it is late."""
        is_late = record.state in ("placed", "partly") and record.expected_on < self.on
        words = format_html('<span class="state">{}</span>', record.get_state_display())
        return words + format_html(' <span class="wrong">late</span>') if is_late else words

    def render_goods_minor(self, record: Any) -> str:
        """In the supplier's currency."""
        return minor_text(record.goods_minor or 0, record.currency)

    def value_goods_minor(self, record: Any) -> Decimal:
        """The number alone, for a spreadsheet."""
        return currency_of(record.currency).from_minor(record.goods_minor or 0)


class ReservationTable(tables.Table):
    """What is kept for which work."""

    reference = tables.Column(verbose_name="Work", linkify=("inventory:reservation", [tables.A("reference")]))
    title = tables.Column(verbose_name="Piece")
    needed_by = tables.DateColumn(verbose_name="Needed by", format="j M Y")
    state = tables.Column(verbose_name="State", order_by=("state", "is_firm"))

    class Meta:
        model = Reservation
        fields = ("reference", "title", "needed_by", "state")

    def __init__(self, data: Any, *, on: date, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.on = on

    def render_state(self, record: Reservation) -> str:
        """Firm, soft until a day, or over."""
        if record.state != Reservation.State.OPEN:
            return str(record.get_state_display())
        if record.is_firm or record.expires_on is None:
            return "Accepted"
        return f"{'Expired on' if record.expires_on < self.on else 'Quoted, until'} {day_text(record.expires_on)}"


def _amount(quantity: int, item: StockItem) -> Decimal:
    return Decimal(quantity) / BASES_PER_UNIT[item.unit]
