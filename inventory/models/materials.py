"""The studio's materials, as priced today."""

from decimal import Decimal

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q

from inventory.ground import materials as pure
from inventory.ground.bone_forms import BoneForm
from inventory.ground.colours import TONE
from inventory.ground.defaults import shelf_defaults
from inventory.models.pictures import KeptPicture

MILLIONTHS = Decimal(1_000_000)


class StockMaterial(models.Model):
    """One material that the studio keeps or buys. Its stock lives in the ledger, its price for new quotes here."""

    KINDS = [(kind.value, facts.label) for kind, facts in pure.KINDS.items()]

    code = models.SlugField(max_length=60, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=20, choices=KINDS)
    # Of a bone, the form that it is counted and priced in here; empty: as its kind is usually sold.
    form = models.CharField(max_length=6, blank=True, choices=[(form.value, form.label) for form in BoneForm])
    # What one stock unit costs, in millionths of a currency unit: a metre of thread costs less than a cent.
    unit_cost_millionths = models.BigIntegerField()
    # The price is a starter list's: it counts until the maker says another one, or the first receipt does.
    is_from_memory = models.BooleanField(default=False)
    usable_width_mm = models.PositiveIntegerField(default=shelf_defaults().material.usable_width_mm)
    shrinkage_permille = models.PositiveSmallIntegerField(default=0)
    has_nap = models.BooleanField(default=False)
    step_mm = models.PositiveIntegerField(default=shelf_defaults().material.step_mm)
    pack = models.PositiveIntegerField(default=shelf_defaults().material.pack)
    # Lengths that a cut bone or a busk comes in, in tenths of a millimetre (1/2 in is 12.7 mm), ascending.
    lengths_tenths_mm = models.JSONField(default=list, blank=True)
    width_tenths_mm = models.PositiveIntegerField(null=True, blank=True)
    colour = models.CharField(max_length=40, blank=True)
    # How it looks in drawings, as #rrggbb; empty: as its photograph, or as the words of its colour say.
    colour_value = models.CharField(
        max_length=7, blank=True, validators=[RegexValidator(TONE, "A colour is written as #rrggbb.")]
    )
    handling = models.CharField(
        max_length=10,
        blank=True,
        choices=[("satin", "Satin"), ("matched", "Matched print"), ("mesh", "Mesh"), ("leather", "Leather or vinyl")],
    )
    # Further facts of its kind, by name, numbers as decimal text (inventory.ground.materials).
    facts = models.JSONField(default=dict, blank=True)
    photo = models.FileField(upload_to="materials", blank=True)
    # A small square of the photograph, which drawings show, and its tone on the whole.
    swatch = models.ForeignKey(KeptPicture, models.PROTECT, to_field="digest", null=True, blank=True, related_name="+")
    photo_tone = models.CharField(max_length=7, blank=True)
    is_retired = models.BooleanField(default=False)
    sort_order = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ("kind", "sort_order", "code")
        constraints = (
            models.CheckConstraint(
                name="material_cost_is_not_negative",
                condition=Q(unit_cost_millionths__gte=0),
                violation_error_message="A price is zero or more.",
            ),
            models.CheckConstraint(
                name="material_shrinks_by_less_than_all",
                condition=Q(shrinkage_permille__lt=1000),
                violation_error_message="Shrinkage is less than 100 %%.",
            ),
            models.CheckConstraint(
                name="material_sizes_are_positive",
                condition=Q(usable_width_mm__gt=0, step_mm__gt=0, pack__gt=0),
                violation_error_message="Width, step and pack are more than zero.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def unit_cost(self) -> Decimal:
        """What one stock unit costs."""
        return self.unit_cost_millionths / MILLIONTHS

    @property
    def is_cloth(self) -> bool:
        """Whether it has a usable width, may be washed and leaves remnants."""
        return self.kind in pure.CLOTHS

    @property
    def bone_form(self) -> BoneForm | None:
        """The form that it is counted and priced in; None for what is no bone."""
        return BoneForm(self.form) if self.form else pure.KINDS[pure.kind_of(self.kind)].form

    @property
    def unit(self) -> pure.StockUnit:
        """The unit that it is counted in: that of its kind, or of its form."""
        return BoneForm(self.form).unit if self.form else pure.kind_of(self.kind).unit

    def once_washed(self, amount: Decimal) -> Decimal:
        """What an amount that comes raw is once it is washed, in stock units to four places: needs are told in ready cloth."""
        return round(amount * (1000 - self.washes_off) / 1000, 4)

    def before_wash(self, amount: Decimal) -> Decimal:
        """What has to come raw for an amount of ready cloth, in stock units to three places."""
        return round(amount * 1000 / (1000 - self.washes_off), 3)

    @property
    def washes_off(self) -> int:
        """What raw cloth loses of its length in the wash, in permille; 0 for all else."""
        return self.shrinkage_permille if self.is_cloth else 0

    def priced(self) -> pure.Material:
        """This row as the pricing rooms take it."""
        return pure.Material(
            code=self.code,
            name=self.name,
            kind=pure.kind_of(self.kind),
            unit=self.unit,
            unit_cost=self.unit_cost,
            usable_width_mm=float(self.usable_width_mm),
            shrinkage_share=self.shrinkage_permille / 1000,
            has_nap=self.has_nap,
            repeat_mm=float(self.facts.get("repeat") or 0),
            step_mm=float(self.step_mm),
            pack=self.pack,
            lengths_mm=tuple(tenths / 10 for tenths in self.lengths_tenths_mm),
            width_mm=None if self.width_tenths_mm is None else self.width_tenths_mm / 10,
            colour=self.colour,
            tone=self.colour_value or self.photo_tone,
            swatch=self.swatch_id or "",
            handling=self.handling,
        )
