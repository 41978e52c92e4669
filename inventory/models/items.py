"""What lies on the shelf: a material in one size, what may stand in for it, and its lots."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from inventory.ground.defaults import shelf_defaults
from inventory.ground.materials import StockUnit
from inventory.ground.measures import amount_of
from inventory.ground.money import currency_of, nearest
from inventory.models.materials import StockMaterial
from inventory.models.suppliers import Supplier


class StockItem(models.Model):
    """A material as it is counted and bought: by the length for those that come in lengths, else as such.

    Quantities are whole base units: millimetres for what is sold by the metre, pieces (pairs, sets) for the rest. The
    balances are caches of the ledger, kept in the same transaction and proved by `audit`.
    """

    class Policy(models.TextChoices):
        AS_NEEDED = "as-needed", "Bought for the job"
        SAFETY = "safety", "Kept, with a reserve of"
        SERVICE = "service", "Kept for unforeseen use"

    material = models.ForeignKey(StockMaterial, models.PROTECT, related_name="items")
    size_tenths_mm = models.PositiveIntegerField(default=0)  # 0: it comes in no sizes
    code = models.SlugField(max_length=70, unique=True)
    place = models.CharField("storage place", max_length=60, blank=True)
    policy = models.CharField(max_length=10, choices=Policy, default=Policy.AS_NEEDED)
    safety = models.PositiveBigIntegerField(default=0)
    service_percent = models.PositiveSmallIntegerField(
        default=shelf_defaults().use.service_percent, validators=[MinValueValidator(50), MaxValueValidator(99)]
    )
    cover_weeks = models.PositiveSmallIntegerField(null=True, blank=True, validators=[MaxValueValidator(52)])
    on_hand = models.BigIntegerField(default=0)
    in_remnants = models.BigIntegerField(default=0)
    value_minor = models.BigIntegerField(default=0)

    class Meta:
        ordering = ("material__kind", "material__sort_order", "material__code", "size_tenths_mm")
        constraints = (
            models.UniqueConstraint(fields=("material", "size_tenths_mm"), name="item_size_is_unique"),
            models.CheckConstraint(
                name="item_is_never_oversold",
                condition=Q(on_hand__gte=0, in_remnants__gte=0, value_minor__gte=0),
                violation_error_message="There is not so much on the shelf.",
            ),
        )

    def __str__(self) -> str:
        if not self.size_tenths_mm:
            return self.material.name
        return f"{self.material.name}, {self.size_words}"

    @staticmethod
    def code_of(material: str, size_tenths_mm: int) -> str:
        """The code that an item goes by where it is free: its material's, and its length where it has one."""
        return f"{material}-{size_tenths_mm / 10:g}".replace(".", "-") if size_tenths_mm else material

    @property
    def size_words(self) -> str:
        """The length that it comes in; empty for one that comes in none."""
        return f"{self.size_tenths_mm / 10:g} mm" if self.size_tenths_mm else ""

    @property
    def unit(self) -> StockUnit:
        """The unit that people count it in."""
        return self.material.unit

    @property
    def there(self) -> int:
        """What lies there whole and in remnants."""
        return self.on_hand + self.in_remnants

    def average_cost(self, currency: str) -> Decimal:
        """What one stock unit of what lies there is worth on average, in the studio's currency; some must lie there."""
        return currency_of(currency).from_minor(self.value_minor) / amount_of(self.there, self.unit)

    def worth_minor(self, quantity: int, currency: str) -> int:
        """What so many base units are worth, with their sign: at the average, at the price list's cost where none is left."""
        if self.there:
            return nearest(self.value_minor * quantity, self.there)
        return self.material.value_minor(quantity, currency)


class Substitute(models.Model):
    """One item that may stand in for another, as the maker allows it; `ask` where the client is told first."""

    item = models.ForeignKey(StockItem, models.CASCADE, related_name="substitutes")
    stand_in = models.ForeignKey(StockItem, models.CASCADE, related_name="stands_in_for")
    ask = models.BooleanField(default=False)
    why = models.CharField(max_length=120, blank=True)

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("item", "stand_in"), name="substitute_is_unique"),
            models.CheckConstraint(
                name="substitute_is_another_item",
                condition=~Q(item=F("stand_in")),
                violation_error_message="A material does not stand in for itself.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.stand_in} for {self.item}"


class Lot(models.Model):
    """What came at once from one place: one dye lot, one coil, one box; or a remnant with its real size.

    A remnant's quantity is its area as a length of the full usable width, so that sums of lengths stay true.
    """

    class State(models.TextChoices):
        READY = "ready", "Ready"
        RAW = "raw", "Raw, to be washed"

    item = models.ForeignKey(StockItem, models.PROTECT, related_name="lots")
    supplier = models.ForeignKey(Supplier, models.PROTECT, null=True, blank=True, related_name="lots")
    purchase_line = models.ForeignKey("inventory.PurchaseLine", models.PROTECT, null=True, related_name="lots")
    received_on = models.DateField()
    dye_lot = models.CharField("dye or colour lot", max_length=60, blank=True)
    state = models.CharField(max_length=5, choices=State, default=State.READY)
    from_lot = models.ForeignKey("self", models.PROTECT, null=True, related_name="parts")
    remnant_width_mm = models.PositiveIntegerField(null=True)
    remnant_length_mm = models.PositiveIntegerField(null=True)
    is_open = models.BooleanField(default=False)
    place = models.CharField("storage place", max_length=60, blank=True)
    note = models.CharField(max_length=200, blank=True)
    on_hand = models.BigIntegerField(default=0)
    # Freight and duty of its order that its receipt's cost carries, in minor units of the studio's currency.
    charges_minor = models.BigIntegerField(default=0)

    class Meta:
        # The order in which lots are taken: begun ones first, then the oldest.
        ordering = ("-is_open", "received_on", "id")
        constraints = (
            models.CheckConstraint(
                name="lot_is_never_oversold",
                condition=Q(on_hand__gte=0),
                violation_error_message="There is not so much in this lot.",
            ),
            models.CheckConstraint(
                name="remnant_has_both_sizes",
                condition=Q(remnant_width_mm__isnull=True, remnant_length_mm__isnull=True)
                | Q(remnant_width_mm__gt=0, remnant_length_mm__gt=0),
            ),
        )
        indexes = (models.Index(fields=("item", "received_on"), condition=Q(on_hand__gt=0), name="lots_with_stock"),)

    def __str__(self) -> str:
        dye = f", {self.dye_lot}" if self.dye_lot else ""
        return f"Lot {self.pk} of {self.received_on.day} {self.received_on:%b %Y}{dye}"

    @property
    def is_remnant(self) -> bool:
        """Whether it has a size of its own instead of the full width."""
        return self.remnant_width_mm is not None

    @property
    def remnant_size(self) -> str:
        """Across and along the cloth; empty for a lot of full width."""
        return f"{self.remnant_width_mm} × {self.remnant_length_mm} mm" if self.is_remnant else ""
