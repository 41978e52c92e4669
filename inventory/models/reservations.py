"""What is kept for whom."""

from datetime import date
from typing import Self

from django.db import models
from django.db.models import F, Q

from inventory.models.items import Lot, StockItem


def unexpired(*, on: date, of: str = "") -> Q:
    """The condition that a reservation is firm or has not expired on a day; `of` is the way to it, such as `reservation__`."""
    return Q(**{f"{of}is_firm": True}) | Q(**{f"{of}expires_on__gte": on})


class ReservationQuerySet(models.QuerySet["Reservation"]):
    """Reservations by how they stand on a day."""

    def keeping(self, *, on: date) -> Self:
        """Those that keep something: firm ones, and soft ones that have not expired."""
        return self.filter(unexpired(on=on), state=Reservation.State.OPEN)

    def expired(self, *, on: date) -> Self:
        """Soft ones whose quote has run out without an answer."""
        return self.filter(is_firm=False, expires_on__lt=on, state=Reservation.State.OPEN)


class Reservation(models.Model):
    """What one piece of work asks of the shelf, by its reference (`Q12`).

    Soft while a quote is out, until it expires; firm once it is accepted; nothing is kept when it is released or used
    up, and never again once the work itself is over.
    """

    class State(models.TextChoices):
        OPEN = "open", "Kept"
        RELEASED = "released", "Released"
        DONE = "done", "Used up"
        OVER = "over", "The work is over"

    reference = models.CharField(max_length=40, unique=True)
    title = models.CharField(max_length=200)
    link = models.CharField(max_length=200, blank=True)
    is_firm = models.BooleanField(default=False)
    needed_by = models.DateField()
    expires_on = models.DateField(null=True)
    state = models.CharField(max_length=10, choices=State, default=State.OPEN)
    why = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    objects = ReservationQuerySet.as_manager()

    class Meta:
        ordering = ("needed_by", "id")
        constraints = (
            models.CheckConstraint(
                name="soft_reservation_expires",
                condition=Q(is_firm=True) | Q(expires_on__isnull=False),
            ),
        )

    def __str__(self) -> str:
        return f"{self.reference}, {self.title}"


class ReservationLine(models.Model):
    """So much of an item for one operation; `needs_one_lot` where it is seen and must match."""

    reservation = models.ForeignKey(Reservation, models.CASCADE, related_name="lines")
    item = models.ForeignKey(StockItem, models.PROTECT, related_name="reservation_lines")
    quantity = models.PositiveBigIntegerField()
    operation = models.CharField(max_length=60)
    needs_one_lot = models.BooleanField(default=False)
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, related_name="reservation_lines")
    issued = models.BigIntegerField(default=0)

    class Meta:
        ordering = ("id",)
        constraints = (
            models.UniqueConstraint(fields=("reservation", "item", "operation"), name="reservation_line_is_unique"),
            models.CheckConstraint(name="reservation_line_is_not_negative", condition=Q(issued__gte=0)),
        )
        indexes = (
            models.Index(fields=("item",), condition=Q(issued__lt=F("quantity")), name="reservation_lines_open"),
        )

    def __str__(self) -> str:
        return f"{self.quantity} of {self.item} for {self.reservation}"

    @property
    def remaining(self) -> int:
        """What is still to be issued."""
        return max(0, self.quantity - self.issued)
