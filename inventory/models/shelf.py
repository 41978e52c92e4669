"""The one row of settings that the shelf works by."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from inventory.ground.defaults import shelf_defaults
from inventory.reckoning.valuation import Method


class Shelf(models.Model):
    """Whose shelf it is (as letterheads say it), currency, method of valuation, what holding costs, and what a remnant
    must measure to be kept.

    Currency and method are chosen once: they cannot change after the first movement (inventory.shelf.settings).
    """

    name = models.CharField(max_length=120, default="The workroom")
    address = models.TextField(blank=True)
    currency = models.CharField(max_length=3, default="EUR")
    method = models.CharField(
        max_length=10,
        choices=[
            (Method.AVERAGE, "Moving weighted average"),
            (Method.FIFO, "First in, first out"),
            (Method.LOT, "What the lot itself cost"),
        ],
        default=Method.AVERAGE,
    )
    holding_percent_per_year = models.PositiveSmallIntegerField(default=shelf_defaults().shelf.holding_percent_per_year)
    surplus_days = models.PositiveSmallIntegerField(default=shelf_defaults().shelf.surplus_days)
    # How often the maker looks what to order; empty where it is learnt from when that was done.
    review_days = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MinValueValidator(1), MaxValueValidator(90)]
    )
    # The box of the smallest panel: across the cloth and along its grain.
    remnant_width_mm = models.PositiveIntegerField(default=shelf_defaults().shelf.remnant_width_mm)
    remnant_length_mm = models.PositiveIntegerField(default=shelf_defaults().shelf.remnant_length_mm)

    # The last day of the last closed month: nothing is booked on it or before.
    closed_until = models.DateField(null=True, blank=True)

    class Meta:
        constraints = (models.CheckConstraint(name="one_shelf_only", condition=Q(pk=1)),)

    def __str__(self) -> str:
        return "The shelf"
