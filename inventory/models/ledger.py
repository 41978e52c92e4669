"""The ledger: what came, what went, what it was worth. Rows are added and never change (inventory.guards)."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.models.items import Lot, StockItem


class Posting(models.Model):
    """One act at the shelf: who, when, why, for which job or purpose. `key` makes a form that is sent twice count once."""

    class Kind(models.TextChoices):
        RECEIPT = "receipt", "Received"
        ISSUE = "issue", "Issued"
        RETURN = "return", "Returned"
        COUNT = "count", "Counted"
        SCRAP = "scrap", "Scrapped"
        WASHING = "washing", "Washed"
        SPLITTING = "splitting", "Split off"
        CORRECTION = "correction", "Cost corrected"

    class Purpose(models.TextChoices):
        """What material is used for that goes to no job."""

        SAMPLE = "sample", "Sample"
        SALE = "sale", "Sale"
        TEACHING = "teaching", "Teaching"
        WASTE = "waste", "Waste"
        OWN_USE = "own-use", "Own use"

    key = models.UUIDField(unique=True)
    fingerprint = models.CharField(max_length=64)
    kind = models.CharField(max_length=10, choices=Kind)
    # The work's reference as its reservation spells it; before it was chosen, whatever was written.
    job = models.CharField(max_length=40, blank=True)
    purpose = models.CharField(max_length=10, choices=Purpose, blank=True, default="")
    why = models.CharField(max_length=200, blank=True)
    # Code of what spoiled it, on scrap that says so; `why` tells it in words.
    cause = models.CharField(max_length=20, blank=True, default="")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    # The correction of a cost that this one follows from: it moves nothing, and says what earlier acts of its kind, job,
    # purpose and cause came to cost more.
    corrected_by = models.ForeignKey("self", models.PROTECT, null=True, related_name="consequences")

    class Meta:
        ordering = ("-id",)
        constraints = (
            models.CheckConstraint(
                name="posting_cause_on_scrap_only",
                condition=Q(cause="") | Q(kind="scrap"),
                violation_error_message="Only scrap has a cause.",
            ),
            models.CheckConstraint(
                name="posting_is_for_a_job_or_a_purpose",
                condition=Q(purpose="") | Q(job="", kind__in=["issue", "return"]),
                violation_error_message="What is issued goes to a job or to a purpose.",
            ),
        )
        indexes = (models.Index(fields=("kind", "at"), name="postings_by_kind"),)

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.at:%d %b %Y}"

    @property
    def act_words(self) -> str:
        """What was done, as people read it."""
        words = self.get_kind_display()
        return f"{words}, cost corrected" if self.corrected_by_id else words

    @property
    def goes_to(self) -> str:
        """The job or the purpose, as people read it; empty for neither."""
        return self.get_purpose_display() if self.purpose else self.job


class Movement(models.Model):
    """A change of one lot: whole base units and whole minor units of money, both with the sign of the change.

    A quantity of 0 corrects what the lot, or what was taken of it, is worth.
    """

    posting = models.ForeignKey(Posting, models.PROTECT, related_name="movements")
    item = models.ForeignKey(StockItem, models.PROTECT, related_name="movements")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="movements")
    day = models.DateField()
    quantity = models.BigIntegerField()
    value_minor = models.BigIntegerField()

    class Meta:
        ordering = ("id",)
        constraints = (
            models.CheckConstraint(
                name="movement_has_one_direction",
                condition=Q(quantity__gt=0, value_minor__gte=0)
                | Q(quantity__lt=0, value_minor__lte=0)
                | (Q(quantity=0) & ~Q(value_minor=0)),
            ),
        )
        indexes = (
            models.Index(fields=("day",), name="movements_by_day"),
            models.Index(fields=("item", "day"), name="movements_by_item_and_day"),
        )

    def __str__(self) -> str:
        return f"{self.quantity:+d} of {self.lot}"
