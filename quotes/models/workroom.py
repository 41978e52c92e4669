"""What the workroom sets once: constructions, standard minutes, rates and yearly costs."""

from django.core.validators import RegexValidator
from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from inventory.models import KeptPicture, Shelf
from quotes.construction.construction import CODE
from quotes.defaults import desk_defaults
from quotes.languages.catalogue import LANGUAGES

CODE_IN_WORDS = "A short name has small letters, digits and hyphens, and begins with no hyphen: my-two-layer."


class KeptConstruction(models.Model):
    """A construction as data. Shipped ones are copied before they are changed."""

    code = models.SlugField(max_length=60, unique=True, validators=[RegexValidator(CODE, CODE_IN_WORDS)])
    title = models.CharField(max_length=120)
    document = models.JSONField()
    is_shipped = models.BooleanField(default=False)

    class Meta:
        ordering = ("-is_shipped", "id")
        constraints = (
            # Without a regular expression, which SQLite knows only while this site has opened it.
            models.CheckConstraint(
                name="construction_code_is_one",
                condition=Q(code=Lower("code")) & ~Q(code="") & ~Q(code__contains="_") & ~Q(code__startswith="-"),
                violation_error_message=CODE_IN_WORDS,
            ),
        )

    def __str__(self) -> str:
        return self.title


class Workroom(models.Model):
    """The one row of settings that quotes start from. `rates` and `times` have the form that the files have.

    `losses` holds the takeoff's figures that were learnt, each with its source; what is not there is the default.
    `terms` are the maker's own by language; a language without them has the usual ones.
    """

    shelf = models.OneToOneField(Shelf, models.PROTECT, default=1, related_name="+")
    length_unit = models.CharField(max_length=2, choices=[("mm", "mm"), ("cm", "cm"), ("in", "inches")], default="cm")
    rates = models.JSONField()
    times = models.JSONField()
    losses = models.JSONField(default=dict)
    productive_weeks = models.PositiveSmallIntegerField(default=desk_defaults().workroom.productive_weeks)
    hours_per_week = models.PositiveSmallIntegerField(default=desk_defaults().workroom.hours_per_week)
    productive_percent = models.PositiveSmallIntegerField(default=desk_defaults().workroom.productive_percent)
    quote_valid_days = models.PositiveSmallIntegerField(default=desk_defaults().workroom.quote_valid_days)
    # A piece without a due date takes so many weeks; its materials are there so many days before it is due.
    lead_weeks = models.PositiveSmallIntegerField(default=desk_defaults().workroom.lead_weeks)
    bench_days = models.PositiveSmallIntegerField(default=desk_defaults().workroom.bench_days)
    # What the check bars of the printed cards measured; None until they are.
    cards_along_mm = models.FloatField(null=True, blank=True)
    cards_across_mm = models.FloatField(null=True, blank=True)
    # What offers say of the workroom beside its letterhead, and how they are set.
    language = models.CharField(max_length=2, choices=list(LANGUAGES.items()), default="en")
    paper = models.CharField(max_length=10, choices=[("a4", "A4"), ("us-letter", "Letter")], default="a4")
    legal_name = models.CharField(max_length=160, blank=True)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    registration_number = models.CharField(max_length=60, blank=True)
    tax_number = models.CharField(max_length=60, blank=True)
    payment_details = models.TextField(blank=True)
    terms = models.JSONField(default=dict, blank=True)
    logo = models.ForeignKey(KeptPicture, models.PROTECT, to_field="digest", null=True, blank=True, related_name="+")

    class Meta:
        constraints = (
            models.CheckConstraint(name="one_workroom_only", condition=Q(pk=1)),
            models.CheckConstraint(
                name="workroom_productive_share_is_a_share",
                condition=Q(productive_percent__gte=1, productive_percent__lte=100),
                violation_error_message="The productive part of the week is between 1 and 100 %%.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        """The workroom's name, as letterheads say it."""
        return self.shelf.name

    @property
    def currency(self) -> str:
        """The studio's currency, which the shelf's ledger is kept in."""
        return self.shelf.currency


class YearlyCost(models.Model):
    """A cost that the year brings whatever is made: rent, insurance, machine service."""

    what = models.CharField(max_length=120)
    amount_minor = models.BigIntegerField()

    class Meta:
        ordering = ("id",)
        constraints = (
            models.CheckConstraint(
                name="yearly_cost_is_not_negative",
                condition=Q(amount_minor__gte=0),
                violation_error_message="A yearly cost is zero or more.",
            ),
        )

    def __str__(self) -> str:
        return self.what
