"""Time at the bench: timers, entries written down, corrections that keep what stood before; how long a day was."""

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from studio.models.jobs import JobOperation


class TimeEntryQuerySet(models.QuerySet["TimeEntry"]):
    def standing(self) -> "TimeEntryQuerySet":
        """Those that no correction replaces."""
        return self.filter(replaced_by__isnull=True)

    def with_operations(self) -> "TimeEntryQuerySet":
        """With all operations of each sitting, read at once."""
        also = AlsoWorked.objects.select_related("operation")
        return self.select_related("operation").prefetch_related(models.Prefetch("also", queryset=also))


class TimeEntry(models.Model):
    """A sitting of so long at an operation, or at several of one job. A running timer has no end; one person runs one at
    most, on however many devices.

    `operation` is the one that the sitting was begun at, `also` holds the others; what each took of it is shared by plan
    (quotes.labour.sitting). `cause` is empty for planned work, else why it was done again. A correction adds an entry that replaces this one.
    """

    class Cause(models.TextChoices):
        PLANNED = "", "As planned"
        OWN_SLIP = "own-slip", "Own slip"
        CLOTH_FAULT = "cloth-fault", "Fault in the cloth"
        CLIENT = "client", "Asked for by the client"
        FIT = "fit", "Fit changed"

    operation = models.ForeignKey(JobOperation, models.PROTECT, related_name="entries")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="time_entries")
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    day = models.DateField()
    minutes = models.PositiveIntegerField(null=True)  # None while it runs
    cause = models.CharField(max_length=12, choices=Cause, blank=True, default=Cause.PLANNED)
    key = models.UUIDField(unique=True)
    replaces = models.OneToOneField("self", models.PROTECT, null=True, related_name="replaced_by")
    why = models.CharField(max_length=200, blank=True)
    written_at = models.DateTimeField(auto_now_add=True)

    objects = TimeEntryQuerySet.as_manager()

    class Meta:
        ordering = ("started_at", "id")
        constraints = (
            models.UniqueConstraint(fields=("by",), condition=Q(ended_at__isnull=True), name="one_timer_a_person"),
            models.CheckConstraint(
                name="time_entry_is_running_or_over",
                condition=Q(ended_at__isnull=True, minutes__isnull=True)
                | Q(ended_at__gte=F("started_at"), minutes__isnull=False),
            ),
            models.CheckConstraint(name="time_correction_says_why", condition=Q(replaces__isnull=True) | ~Q(why="")),
        )
        indexes = (models.Index(fields=("day",), name="time_by_day"),)

    def __str__(self) -> str:
        return f"{self.minutes} min at {self.operation}"

    def worked_operations(self) -> list[JobOperation]:
        """All operations of the sitting in the order of the work; no query of its own after `with_operations`."""
        operations = [self.operation, *(row.operation for row in self.also.all())]
        return sorted(operations, key=lambda operation: (operation.place, operation.pk))

    @property
    def so_far_min(self) -> float:
        """Its minutes; up to now where it still runs."""
        if self.minutes is not None:
            return self.minutes
        return (timezone.now() - self.started_at).total_seconds() / 60


class AlsoWorked(models.Model):
    """Another operation of the same job that was worked in a sitting. Added, never changed or taken away."""

    entry = models.ForeignKey(TimeEntry, models.PROTECT, related_name="also")
    operation = models.ForeignKey(JobOperation, models.PROTECT, related_name="also_in")

    class Meta:
        constraints = (models.UniqueConstraint(fields=("entry", "operation"), name="operation_once_in_a_sitting"),)

    def __str__(self) -> str:
        return f"{self.operation} in the same sitting"


class DayPresent(models.Model):
    """How long somebody was at the bench on a day, all in all, as they remember it: a witness beside the logged time."""

    day = models.DateField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="days_present")
    minutes = models.PositiveSmallIntegerField()

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=("day", "by"), name="one_presence_a_day_and_person"),
            models.CheckConstraint(name="presence_fits_a_day", condition=Q(minutes__gt=0, minutes__lte=24 * 60)),
        )

    def __str__(self) -> str:
        return f"{self.minutes} min on {self.day}"
