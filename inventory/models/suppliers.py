"""Who sells, and what they ask for it."""

from dataclasses import dataclass
from datetime import date

import msgspec
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class PriceBreak:
    """From so many packs on, a pack costs so much, in the supplier's minor units."""

    from_packs: int
    price_minor: int


class Supplier(models.Model):
    """A shop, mill or maker. Money is in minor units of the supplier's own currency."""

    code = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    note = models.TextField(blank=True)
    currency = models.CharField(max_length=3)
    # What one unit of the supplier's currency costs in the studio's, in millionths.
    rate_millionths = models.PositiveBigIntegerField(default=1_000_000, validators=[MinValueValidator(1)])
    lead_days = models.PositiveSmallIntegerField(validators=[MaxValueValidator(365)])
    lead_spread_days = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(180)])
    closed = models.JSONField(default=list, blank=True)  # [["2027-08-02", "2027-08-20"], …]
    postage_minor = models.PositiveBigIntegerField(default=0)
    postage_free_from_minor = models.PositiveBigIntegerField(null=True, blank=True)
    minimum_order_minor = models.PositiveBigIntegerField(null=True, blank=True)
    is_retired = models.BooleanField(default=False)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name

    @property
    def closed_periods(self) -> list[tuple[date, date]]:
        """When nothing is sent, both days included."""
        return msgspec.convert(self.closed, list[tuple[date, date]])


class Offer(models.Model):
    """A pack of an item at a supplier's price; breaks by rising number of packs, prices in the supplier's money.

    A pack is `pack_thousandths` / 1000 of a unit of UN/CEFACT Recommendation 20, so that 5 yd stay 5 yd.
    """

    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="offers")
    item = models.ForeignKey("inventory.StockItem", models.PROTECT, related_name="offers")
    their_code = models.CharField("their article", max_length=60, blank=True)
    pack_thousandths = models.PositiveBigIntegerField(validators=[MinValueValidator(1)])
    pack_unit = models.CharField(max_length=3)
    minimum_packs = models.PositiveIntegerField(default=1, validators=[MinValueValidator(1)])
    breaks = models.JSONField()  # [{"from_packs": 1, "price_minor": 840}, …]
    valid_from = models.DateField(null=True, blank=True)
    valid_until = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("item", "supplier", "id")
        constraints = (
            models.CheckConstraint(
                name="offer_ends_after_it_begins",
                condition=Q(valid_from__isnull=True)
                | Q(valid_until__isnull=True)
                | Q(valid_until__gte=models.F("valid_from")),
                violation_error_message="An offer ends after it begins.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.item} from {self.supplier}"

    @property
    def tiers(self) -> list[PriceBreak]:
        """What a pack costs, by rising number of packs; none before it was said."""
        return sorted(msgspec.convert(self.breaks or [], list[PriceBreak]))

    def price_minor(self, packs: int) -> int:
        """What a pack costs where so many are bought, in the supplier's minor units; the first price below it."""
        first, *later = self.tiers
        return next((tier.price_minor for tier in reversed(later) if packs >= tier.from_packs), first.price_minor)
