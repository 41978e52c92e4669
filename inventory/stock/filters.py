"""What the lists of stock and of movements can be narrowed to."""

from typing import Any

import django_filters as filters
from django.db.models import Q, QuerySet

from inventory.models import Movement, Posting, StockItem, StockMaterial

__all__ = [
    "MovementFilter",
    "StockFilter",
]


class StockFilter(filters.FilterSet):
    """By a word in name or code, kind, place, whether any is there, and where its price comes from."""

    word = filters.CharFilter(method="by_word", label="Material", max_length=60)
    kind = filters.ChoiceFilter(
        field_name="material__kind", label="Kind", empty_label="All", choices=StockMaterial.KINDS
    )
    place = filters.CharFilter(field_name="place", lookup_expr="icontains", label="Place", max_length=60)
    there = filters.ChoiceFilter(
        method="by_there",
        label="On the shelf",
        empty_label="All",
        choices=[("yes", "There is some"), ("no", "None is left"), ("still", "Not moved for a year")],
    )

    price = filters.ChoiceFilter(
        field_name="material__is_from_memory",
        label="Price",
        empty_label="All",
        choices=[("True", "From memory"), ("False", "Known")],
    )

    def __init__(self, *args: Any, still_since: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.still_since = still_since

    def by_word(self, items: QuerySet[StockItem], name: str, value: str) -> QuerySet[StockItem]:
        """Items whose name, code or colour holds the word."""
        return items.filter(
            Q(material__name__icontains=value) | Q(code__icontains=value) | Q(material__colour__icontains=value)
        )

    def by_there(self, items: QuerySet[StockItem], name: str, value: str) -> QuerySet[StockItem]:
        """Items with stock, without, or whose stock has not moved since a year ago."""
        if value == "no":
            return items.filter(on_hand=0)
        some = items.filter(on_hand__gt=0)
        return some.exclude(movements__day__gte=self.still_since) if value == "still" else some


class MovementFilter(filters.FilterSet):
    """By act, job, purpose and days."""

    kind = filters.ChoiceFilter(
        field_name="posting__kind", label="Act", empty_label="All", choices=Posting.Kind.choices
    )
    job = filters.CharFilter(field_name="posting__job", lookup_expr="iexact", label="Job", max_length=40)
    purpose = filters.ChoiceFilter(
        field_name="posting__purpose", label="Purpose", empty_label="All", choices=Posting.Purpose.choices
    )
    since = filters.DateFilter(field_name="day", lookup_expr="gte", label="From")
    until = filters.DateFilter(field_name="day", lookup_expr="lte", label="Until")

    class Meta:
        model = Movement
        fields: list[str] = []
