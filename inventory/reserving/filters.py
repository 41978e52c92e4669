"""What the list of kept work can be narrowed to."""

import django_filters as filters
from django.db.models import Q, QuerySet
from django.utils import timezone

from inventory.models import Reservation
from inventory.models.reservations import ReservationQuerySet

EXPIRED = "expired"


class ReservationFilter(filters.FilterSet):
    """By state and a word."""

    word = filters.CharFilter(method="by_word", label="Work or piece", max_length=60)
    state = filters.ChoiceFilter(
        method="by_state",
        label="State",
        empty_label="All",
        choices=[*Reservation.State.choices, (EXPIRED, "Expired")],
    )

    def by_state(self, reservations: ReservationQuerySet, name: str, value: str) -> QuerySet[Reservation]:
        """Reservations that stand so today."""
        today = timezone.localdate()
        if value == Reservation.State.OPEN:
            return reservations.keeping(on=today)
        return reservations.expired(on=today) if value == EXPIRED else reservations.filter(state=value)

    def by_word(self, reservations: QuerySet[Reservation], name: str, value: str) -> QuerySet[Reservation]:
        """Reservations whose reference or title holds the word."""
        return reservations.filter(Q(reference__icontains=value) | Q(title__icontains=value))
