"""What the list of quotes can be narrowed to."""

import django_filters as filters
from django.db.models import Q, QuerySet
from django.utils import timezone

from quotes.models import QuoteRevision
from quotes.models.quotes import RevisionQuerySet

__all__ = ["QuoteFilter"]


class QuoteFilter(filters.FilterSet):
    """By state on this day, and by a word in the piece or the client's name."""

    word = filters.CharFilter(method="by_word", label="Piece or client", max_length=60)
    state = filters.ChoiceFilter(
        method="by_state",
        label="State",
        empty_label="All",
        choices=[(state.value, state.label) for state in QuoteRevision.State if state != "replaced"],
    )

    def by_word(self, revisions: QuerySet[QuoteRevision], name: str, value: str) -> QuerySet[QuoteRevision]:
        """Revisions whose piece or client holds the word."""
        return revisions.filter(Q(quote__title__icontains=value) | Q(quote__client__name__icontains=value))

    def by_state(self, revisions: RevisionQuerySet, name: str, value: str) -> QuerySet[QuoteRevision]:
        """Revisions that stand in the state today."""
        return revisions.standing(value, on=timezone.localdate())
