"""The list of kept patterns."""

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from inventory.ground.site.paging import RIGHT
from quotes.models import KeptPattern

__all__ = ["PatternTable"]


class PatternTable(tables.Table):
    """Kept patterns, with `revision_count` beside them."""

    name = tables.Column(verbose_name="Name", linkify=("quotes:pattern", [tables.A("pk")]))
    revision_count = tables.Column(verbose_name="Revisions", attrs=RIGHT)
    quote = tables.Column(empty_values=(), verbose_name="", orderable=False, attrs=RIGHT)

    class Meta:
        model = KeptPattern
        fields = ("name", "revision_count", "quote")

    def render_quote(self, record: KeptPattern) -> SafeString:
        """The way to a quote from this pattern."""
        return format_html('<a href="{}?pattern={}">Quote from it</a>', reverse("quotes:new"), record.pk)
