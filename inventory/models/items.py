"""What lies on the shelf: a material in one size, what may stand in for it, and its lots."""

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from inventory.ground.bone_forms import BoneForm
from inventory.ground.defaults import shelf_defaults
from inventory.ground.materials import StockUnit
from inventory.ground.measures import BASES_PER_UNIT, amount_of
from inventory.ground.money import currency_of, nearest
from inventory.models.materials import MILLIONTHS, StockMaterial
from inventory.models.suppliers import Supplier


class StockItem(models.Model):
    """A material as it is counted and bought: by the length for those that come in lengths, by the form for bones, else
    as such.

    Quantities are whole base units: millimetres for what is sold by the metre, pieces (pairs, sets) for the rest. The
    balances are caches of the ledger, kept in the same transaction and proved by `audit`.
    """

    class Policy(models.TextChoices):
        AS_NEEDED = "as-needed", "Bought for the job"
        SAFETY = "safety", "Kept, with a reserve of"
        SERVICE = "service", "Kept for unforeseen use"

    material = models.ForeignKey(StockMaterial, models.PROTECT, related_name="items")
    size_tenths_mm = models.PositiveIntegerField(default=0)  # 0: it comes in no sizes
    # Of a bone that comes in several forms, another one than the material's own; empty for that.
    form = models.CharField(max_length=6, blank=True, choices=[(form.value, form.label) for form in BoneForm])
    # What a stock unit in this form and length costs; without it, what the material's own form costs.
    own_cost_millionths = models.BigIntegerField(null=True, blank=True)
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
        ordering = ("material__kind", "material__sort_order", "material__code", "form", "size_tenths_mm")
        constraints = (
            models.UniqueConstraint(
                fields=("material", "form", "size_tenths_mm"), name="item_form_and_size_are_unique"
            ),
            models.CheckConstraint(
                name="item_cost_is_not_negative",
                condition=Q(own_cost_millionths__isnull=True) | Q(own_cost_millionths__gte=0),
                violation_error_message="A price is zero or more.",
            ),
            models.CheckConstraint(
                name="item_on_the_coil_has_no_size",
                condition=~Q(form=BoneForm.COIL.value) | Q(size_tenths_mm=0),
                violation_error_message="A coil has no length of a bone.",
            ),
            models.CheckConstraint(
                name="item_is_never_oversold",
                condition=Q(on_hand__gte=0, in_remnants__gte=0, value_minor__gte=0),
                violation_error_message="There is not so much on the shelf.",
            ),
        )

    def __str__(self) -> str:
        words = (self.size_words, BoneForm(self.form).words if self.form else "")
        return ", ".join((self.material.name, *(part for part in words if part)))

    @staticmethod
    def code_of(material: str, size_tenths_mm: int, form: str = "") -> str:
        """The code that an item goes by where it is free: its material's, its form's and its length's, as it has them."""
        size = f"{size_tenths_mm / 10:g}".replace(".", "-") if size_tenths_mm else ""
        return "-".join(part for part in (material, form, size) if part)

    @property
    def size_words(self) -> str:
        """The length that it comes in; empty for one that comes in none."""
        return f"{self.size_tenths_mm / 10:g} mm" if self.size_tenths_mm else ""

    @property
    def unit(self) -> StockUnit:
        """The unit that people count it in."""
        return BoneForm(self.form).unit if self.form else self.material.unit

    @property
    def kind_by_length(self) -> str:
        """Its kind where it is counted by the length, so that pieces are cut from it; empty for what is counted whole."""
        return self.material.kind if self.unit is StockUnit.METRE else ""

    @property
    def bone_form(self) -> BoneForm | None:
        """The form of a bone; None for what is none."""
        return BoneForm(self.form) if self.form else self.material.bone_form

    @property
    def apart_words(self) -> str:
        """What tells it from other items of its material: its length, and the form of a bone."""
        form = self.bone_form
        return ", ".join(words for words in (self.size_words, form.words if form else "") if words)

    @property
    def unit_cost(self) -> Decimal | None:
        """What a stock unit costs by today's prices; None for a form that has no price yet."""
        if self.own_cost_millionths is not None:
            return self.own_cost_millionths / MILLIONTHS
        return None if self.form else self.material.unit_cost

    @property
    def is_rest(self) -> bool:
        """Whether it is a bone in a length that its material is not sold in, left over and without a price of its own."""
        lengths = self.material.lengths_tenths_mm
        is_of_a_length = bool(self.material.bone_form and self.size_tenths_mm and lengths)
        has_own = bool(self.form) or self.own_cost_millionths is not None
        return is_of_a_length and not has_own and self.size_tenths_mm not in lengths

    def dearer_by(self, unit_cost: Decimal) -> Decimal:
        """By what share a stock unit at another price is dearer than today's, below zero where cheaper; 0 without a price."""
        return unit_cost / self.unit_cost - 1 if self.unit_cost else Decimal(0)

    def price_minor(self, quantity: int, currency: str) -> int:
        """What so many base units cost by today's prices, in minor units, half up; 0 without a price."""
        money = currency_of(currency)
        return money.to_minor(money.round((self.unit_cost or Decimal(0)) * quantity / BASES_PER_UNIT[self.unit]))

    @property
    def there(self) -> int:
        """What lies there whole and in remnants."""
        return self.on_hand + self.in_remnants

    def average_cost(self, currency: str) -> Decimal:
        """What one stock unit of what lies there is worth on average, in the studio's currency; some must lie there."""
        return currency_of(currency).from_minor(self.value_minor) / amount_of(self.there, self.unit)

    def worth_minor(self, quantity: int, currency: str) -> int:
        """What so many base units are worth, with their sign: at the average, at today's price where none is left."""
        if self.there:
            return nearest(self.value_minor * quantity, self.there)
        return self.price_minor(quantity, currency)


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
