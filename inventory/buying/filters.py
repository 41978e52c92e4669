"""What the list of orders can be narrowed to."""

import django_filters as filters

from inventory.models import PurchaseOrder


class OrderFilter(filters.FilterSet):
    """By state and supplier."""

    word = filters.CharFilter(field_name="supplier__name", lookup_expr="icontains", label="Supplier", max_length=60)
    state = filters.ChoiceFilter(label="State", empty_label="All", choices=PurchaseOrder.State.choices)
