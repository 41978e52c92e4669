"""What lists of named things can be narrowed to."""

import django_filters as filters

__all__ = ["NameFilter"]


class NameFilter(filters.FilterSet):
    """By a word in the name."""

    word = filters.CharFilter(field_name="name", lookup_expr="icontains", label="Name holds", max_length=60)
