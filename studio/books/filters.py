"""What the books can be narrowed to."""

from typing import Any

import django_filters as filters
from django import forms
from django.db.models import Q, QuerySet

from studio.models import Job, PieceAccount

__all__ = ["DaysFilter", "PieceFilter"]


class DaysFilter(filters.FilterSet):
    """By days of delivery."""

    since = filters.DateFilter(
        field_name="delivered_on", lookup_expr="gte", label="From", widget=forms.DateInput(attrs={"type": "date"})
    )
    until = filters.DateFilter(
        field_name="delivered_on", lookup_expr="lte", label="Until", widget=forms.DateInput(attrs={"type": "date"})
    )

    class Meta:
        model = PieceAccount
        fields: list[str] = []


class PieceFilter(DaysFilter):
    """By days of delivery, client, style, construction, and whether a piece earned less than the wage floor."""

    word = filters.CharFilter(method="by_word", label="Client or piece", max_length=60)
    style = filters.ChoiceFilter(label="Style", empty_label="All")
    construction = filters.ChoiceFilter(label="Construction", empty_label="All")
    floor = filters.ChoiceFilter(
        method="by_floor", label="Wage floor", empty_label="All", choices=[("under", "Under it"), ("kept", "Kept")]
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = list(PieceAccount.objects.order_by().values_list("style", "construction").distinct())
        for place, name in enumerate(("style", "construction")):
            words = sorted({names[place] for names in known if names[place]})
            self.filters[name].extra["choices"] = [(word, word) for word in words]

    def by_word(self, pieces: QuerySet[PieceAccount], name: str, value: str) -> QuerySet[PieceAccount]:
        """Pieces whose client, title or number holds the word."""
        jobs = Job.objects.filter(
            Q(client__name__icontains=value) | Q(title__icontains=value) | Q(reference__iexact=value)
        )
        return pieces.filter(job__in=jobs)

    def by_floor(self, pieces: QuerySet[PieceAccount], name: str, value: str) -> QuerySet[PieceAccount]:
        """Pieces that earned less than the floor for each hour, or as much."""
        return pieces.filter(is_under_floor=value == "under")
