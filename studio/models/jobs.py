"""A job: an accepted option on its way from the draft to the client."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from inventory.ground.money import Currency, currency_of
from quotes.models import Client, QuoteRevision
from quotes.seal.sealed import SealedOption
from studio.defaults import studio_defaults
from studio.profit.piece import Unlogged


class JobQuerySet(models.QuerySet["Job"]):
    def open(self) -> "JobQuerySet":
        """Those with work still to do."""
        return self.exclude(stage__in=[Job.Stage.DELIVERED, Job.Stage.CANCELLED])


class Job(models.Model):
    """What was accepted, frozen: prices, rates and minutes stand in the quote's sealed figures.

    `reference` is what the shelf keeps and issues materials under. Its stage moves forward through the trade's own;
    cutting the fashion cloth is the point of no return (studio.bench.stages).
    """

    class Stage(models.TextChoices):
        ACCEPTED = "accepted", "Accepted"
        DRAFTING = "drafting", "Drafting"
        TOILE = "toile", "Toile"
        CUTTING = "cutting", "Cutting"
        SEWING = "sewing", "Sewing"
        BONING = "boning", "Boning"
        FINISHING = "finishing", "Finishing"
        DELIVERED = "delivered", "Delivered"
        CANCELLED = "cancelled", "Cancelled"

    revision = models.OneToOneField(QuoteRevision, models.PROTECT, related_name="job")
    reference = models.CharField(max_length=40, unique=True)
    client = models.ForeignKey(Client, models.PROTECT, related_name="jobs")
    title = models.CharField(max_length=160)
    style = models.CharField(max_length=120, blank=True)  # the pattern's name: repeats of it get quicker
    construction = models.CharField(max_length=120)
    stage = models.CharField(max_length=10, choices=Stage, default=Stage.ACCEPTED)
    due = models.DateField(null=True)
    promised = models.DateField(null=True)
    position = models.PositiveIntegerField(default=0)  # place in the order of work
    started_on = models.DateField()
    delivered_on = models.DateField(null=True)
    cancelled_on = models.DateField(null=True)
    ended_why = models.CharField(max_length=200, blank=True)
    toile_signed_on = models.DateField(null=True)
    # What was really invoiced, in minor units of the studio's currency; filled in on delivery.
    net_minor = models.BigIntegerField(null=True)
    tax_minor = models.BigIntegerField(null=True)
    fee_minor = models.BigIntegerField(null=True)
    discount_minor = models.BigIntegerField(default=0)
    extras_minor = models.BigIntegerField(default=0)
    version = models.PositiveIntegerField(default=1)

    objects = JobQuerySet.as_manager()

    class Meta:
        ordering = ("position", "id")
        constraints = (
            models.CheckConstraint(
                name="delivered_job_is_dated_and_invoiced",
                condition=~Q(stage="delivered")
                | Q(
                    delivered_on__isnull=False,
                    net_minor__isnull=False,
                    tax_minor__isnull=False,
                    fee_minor__isnull=False,
                ),
            ),
        )

    def __str__(self) -> str:
        return f"{self.reference}, {self.title}"

    @property
    def is_open(self) -> bool:
        """Whether there is still work to do."""
        return self.stage not in (self.Stage.DELIVERED, self.Stage.CANCELLED)

    @property
    def currency(self) -> Currency:
        """What it was quoted in and is paid in."""
        return currency_of(self.revision.snapshot.quotation.currency)

    @property
    def option(self) -> SealedOption:
        """The accepted option, from the sealed figures."""
        return self.revision.accepted


_UNLOGGED = [
    (Unlogged.NO, "Not said"),
    (Unlogged.MISSING, "Nobody logged it"),
    (Unlogged.ELSEWHERE, "Stands with other work"),
    (Unlogged.UNDONE, "Left undone"),
]


class JobOperation(models.Model):
    """An operation of a job in its order, with its planned minutes (allowance included)."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="operations")
    code = models.CharField(max_length=20)
    name = models.CharField(max_length=160)
    # What it is to the rules of the trade (quotes.labour.operations.OperationRole); empty for none.
    role = models.CharField(max_length=20, blank=True, default="")
    group = models.CharField(max_length=20)
    place = models.PositiveSmallIntegerField()
    planned_min = models.FloatField()
    estimated_min = models.FloatField()  # by the default table, without allowance: what learning compares with
    done_at = models.DateTimeField(null=True)
    done_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    # Why it had no time of its own when the piece was handed over; what is logged for it later counts all the same.
    unlogged = models.CharField(max_length=10, blank=True, default=Unlogged.NO, choices=_UNLOGGED)

    class Meta:
        ordering = ("job", "place")
        constraints = (models.UniqueConstraint(fields=("job", "code"), name="operation_of_a_job_is_unique"),)

    def __str__(self) -> str:
        return self.name

    def is_overrun_by(self, worked_min: float) -> bool:
        """Whether so many minutes are clearly more than were planned."""
        return worked_min > studio_defaults().bench.over_plan_factor * self.planned_min


class SeamPass(models.Model):
    """One pass of one seam line of one shell; a seam is done only at its last pass in every shell."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="seam_passes")
    shell = models.CharField(max_length=60)
    half = models.CharField(max_length=5)
    seam = models.PositiveSmallIntegerField()
    number = models.PositiveSmallIntegerField()
    stitch_mm = models.FloatField(null=True)
    done_at = models.DateTimeField(null=True)
    done_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ("job", "shell", "half", "seam", "number")
        constraints = (
            models.UniqueConstraint(fields=("job", "shell", "half", "seam", "number"), name="seam_pass_is_unique"),
        )

    def __str__(self) -> str:
        return f"{self.shell} {self.half} seam {self.seam}, pass {self.number}"


class ChangeOrder(models.Model):
    """A change that the client agreed to after acceptance: priced, and added to what is invoiced."""

    job = models.ForeignKey(Job, models.PROTECT, related_name="changes")
    what = models.CharField(max_length=160)
    net_minor = models.BigIntegerField()
    minutes = models.PositiveIntegerField(default=0)
    agreed_on = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ("agreed_on", "id")

    def __str__(self) -> str:
        return self.what


class Fitting(models.Model):
    """An appointment with the client: a fixed date."""

    class Kind(models.TextChoices):
        TOILE = "toile", "Toile fitting"
        BONED = "boned", "Boned fitting"
        FINAL = "final", "Final fitting"

    job = models.ForeignKey(Job, models.CASCADE, related_name="fittings")
    kind = models.CharField(max_length=10, choices=Kind)
    at = models.DateTimeField()
    minutes = models.PositiveSmallIntegerField(default=studio_defaults().calendar.fitting_minutes)
    notes = models.TextField(blank=True)
    held_on = models.DateField(null=True)
    alterations = models.TextField(blank=True)

    class Meta:
        ordering = ("at",)

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.job}"


class JobNote(models.Model):
    """A line of a job's diary: what was decided or taken back, by whom and why. Written once."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="notes")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    words = models.CharField(max_length=400)

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return self.words


class JobPhoto(models.Model):
    """A photograph of the work; of a client only with their leave."""

    job = models.ForeignKey(Job, models.CASCADE, related_name="photos")
    photo = models.FileField(upload_to="jobs")
    words = models.CharField(max_length=120, blank=True)
    taken_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.words or "Photograph"
