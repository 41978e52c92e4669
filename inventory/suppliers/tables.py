"""The list of suppliers."""

from decimal import Decimal

import django_tables2 as tables

from inventory.ground.money import currency_of
from inventory.ground.site.paging import RIGHT
from inventory.ground.wording import minor_text
from inventory.models import Supplier

__all__ = ["SupplierTable"]


class SupplierTable(tables.Table):
    """Suppliers with `offer_count` beside them."""

    name = tables.Column(verbose_name="Supplier", linkify=("inventory:supplier", [tables.A("code")]))
    lead_days = tables.Column(verbose_name="Takes", attrs=RIGHT)
    postage_minor = tables.Column(verbose_name="Postage", attrs=RIGHT)
    postage_free_from_minor = tables.Column(verbose_name="Free from", attrs=RIGHT)
    offer_count = tables.Column(verbose_name="Offers", attrs=RIGHT)

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
