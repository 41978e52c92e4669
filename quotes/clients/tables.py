"""The list of clients."""

import django_tables2 as tables

from inventory.ground.site.paging import RIGHT
from quotes.models import Client

__all__ = ["ClientTable"]


class ClientTable(tables.Table):
    """Clients, with `measured_on` and `quote_count` beside them; nothing of their health."""

    name = tables.Column(verbose_name="Name", linkify=("quotes:client", [tables.A("pk")]))
    phone = tables.Column(verbose_name="Telephone")
    measured_on = tables.DateColumn(verbose_name="Measured", format="j F Y")
    quote_count = tables.Column(verbose_name="Quotes", attrs=RIGHT)

    class Meta:
        model = Client
        fields = ("name", "phone", "measured_on", "quote_count")
        default = ""
