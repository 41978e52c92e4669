"""Counts of the shelf, place by place."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models.items import Lot
from inventory.models.ledger import Posting


class Stocktake(models.Model):
    """A count that is open until its differences are posted, once, or it is dropped."""

    class State(models.TextChoices):
        OPEN = "open", "Being counted"
        POSTED = "posted", "Posted"
        DROPPED = "dropped", "Dropped"

    number = models.PositiveIntegerField(unique=True)
    # Where it counts; of a count of one kind, which; empty: the whole shelf.
    place = models.CharField(max_length=60, blank=True)
    is_blind = models.BooleanField(default=True)
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    posted_at = models.DateTimeField(null=True)
    posting = models.OneToOneField(Posting, models.PROTECT, null=True, related_name="stocktake")
    why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("-number",)

    def __str__(self) -> str:
        return f"Stocktake {self.number}"


class CountLine(models.Model):
    """One lot to count. `book_quantity` is what the ledger held at the moment it was counted.

    `counted_after` is the number of the lot's last movement then; None for what was counted before this was kept.
    """

    stocktake = models.ForeignKey(Stocktake, models.CASCADE, related_name="lines")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="count_lines")
    counted = models.PositiveBigIntegerField(null=True)
    book_quantity = models.BigIntegerField(null=True)
    counted_after = models.PositiveBigIntegerField(null=True)
    how = models.CharField(max_length=120, blank=True)
    reason = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ("id",)
        constraints = (
            models.UniqueConstraint(fields=("stocktake", "lot"), name="count_line_is_unique"),
            models.CheckConstraint(
                name="counted_line_knows_its_book",
                condition=Q(counted__isnull=True, book_quantity__isnull=True)
                | Q(counted__isnull=False, book_quantity__isnull=False),
            ),
        )

    def __str__(self) -> str:
        return f"{self.lot} in {self.stocktake}"

    @property
    def difference(self) -> int | None:
        """Counted less book; None before it is counted."""
        return None if self.counted is None or self.book_quantity is None else self.counted - self.book_quantity
